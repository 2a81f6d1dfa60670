"""Measurement to correction."""

from poise.solve.auto import Solution, auto

__all__ = ["Solution", "auto"]
