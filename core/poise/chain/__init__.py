"""The chain: one file per operation, each returning pure stages; `order` declares their order."""
