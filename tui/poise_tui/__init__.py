"""The terminal side of poise: it draws what the engine measures."""
