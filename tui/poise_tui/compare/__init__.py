"""Comparing: the reference, and what the current shot is compared with on the instruments."""

from poise_tui.compare.target import Target, other

__all__ = ["Target", "other"]
