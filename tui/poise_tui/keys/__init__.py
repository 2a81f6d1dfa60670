"""Keys: which key does what in each mode, and the help and hints made from that."""
