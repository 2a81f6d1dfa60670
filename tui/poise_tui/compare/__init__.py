"""Comparing: a reference, and what the shot in hand stands beside on the instruments."""

from poise_tui.compare.other import Other, other

__all__ = ["Other", "other"]
