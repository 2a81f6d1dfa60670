"""Keys: which key does what at each mode, and the help made from that table."""
