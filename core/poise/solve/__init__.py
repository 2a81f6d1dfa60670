"""Measurement to correction."""

from poise.solve.as_cdl import as_cdl
from poise.solve.auto import Solution, auto
from poise.solve.chart import Charted, chart
from poise.solve.distribution import Distribution, distribution
from poise.solve.find_chart import find_chart
from poise.solve.key import sample
from poise.solve.match import Matched, match
from poise.solve.measured import measure
from poise.solve.pick import Picked, pick
from poise.solve.together import Shared, together

__all__ = [
    "Charted",
    "Distribution",
    "Matched",
    "Picked",
    "Shared",
    "Solution",
    "as_cdl",
    "auto",
    "chart",
    "distribution",
    "find_chart",
    "match",
    "measure",
    "pick",
    "sample",
    "together",
]
