"""Measurement to correction."""

from poise.solve.auto import Solution, auto
from poise.solve.key import sample
from poise.solve.pick import Picked, pick

__all__ = ["Picked", "Solution", "auto", "pick", "sample"]
