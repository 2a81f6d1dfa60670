"""The chain: one file an operation, each made of pure stages; `order` says what follows what."""
