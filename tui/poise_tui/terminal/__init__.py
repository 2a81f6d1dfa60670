"""The terminal: everything that reaches into Textual, sends bytes, or paces what is sent."""
