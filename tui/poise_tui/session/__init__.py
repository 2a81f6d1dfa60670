"""The session: shots, the decision about each, undo and saving; plain Python without a terminal or a thread."""
