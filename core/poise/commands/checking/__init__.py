"""What `poise check` is made of: the pictures looked at, files held to a record, and how faults are told."""
