"""Comparing: a reference, and what the shot in hand stands beside on the instruments."""

from poise_tui.compare.target import Other, other

__all__ = ["Other", "other"]
