"""Measurement to correction."""

from poise.solve.auto import Solution, auto
from poise.solve.distribution import Distribution, distribution
from poise.solve.key import sample
from poise.solve.match import Matched, match
from poise.solve.pick import Picked, pick

__all__ = ["Distribution", "Matched", "Picked", "Solution", "auto", "distribution", "match", "pick", "sample"]
