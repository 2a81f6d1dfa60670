"""Printing: one frame, or the whole reel, written once to a terminal or a file."""
