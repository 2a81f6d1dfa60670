"""Edits: what can be done to the mattes and curves of a shot, under the cursor, and with what was copied."""
