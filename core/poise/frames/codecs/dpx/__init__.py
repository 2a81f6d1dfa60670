"""DPX: its codec, the header and the packed words of its files, and the guard that checks them first."""
