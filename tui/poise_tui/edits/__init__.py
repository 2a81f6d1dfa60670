"""Edits of the current shot, or of the group: mattes, curves, a picked grey, chart corners, the judged frame."""
