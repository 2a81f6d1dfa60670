"""The session: shots, what is decided about each, undo and saving; plain Python without a terminal or a thread."""
