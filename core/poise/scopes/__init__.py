"""Scopes and readings: a picture in work code becomes count grids and numbers. Nothing here knows about terminals."""

from poise.scopes.colours import NEAR_NEUTRAL, Colours, colours
from poise.scopes.course import Course
from poise.scopes.coverage import SPREADS_FAR, Coverage, coverage
from poise.scopes.density import density
from poise.scopes.drift import Drift, drift
from poise.scopes.ends import ends
from poise.scopes.histogram import histogram
from poise.scopes.instruments import Instruments, instruments
from poise.scopes.levels import HIGH, LOW, WHOLE, Scale, level_of, row_of, rows_of
from poise.scopes.neutrals import Cast, hue_name
from poise.scopes.parade import parade
from poise.scopes.readings import Channel, Readings, Spread, measure, measure_parts
from poise.scopes.reel import BeforeAfter, Reel, compared, reel
from poise.scopes.signal import Signal, split
from poise.scopes.vectorscope import SKIN_ANGLE, Target, cell_of, targets, vectorscope
from poise.scopes.waveform import waveform

__all__ = [
    "HIGH",
    "LOW",
    "NEAR_NEUTRAL",
    "SKIN_ANGLE",
    "SPREADS_FAR",
    "WHOLE",
    "BeforeAfter",
    "Cast",
    "Channel",
    "Colours",
    "Course",
    "Coverage",
    "Drift",
    "Instruments",
    "Readings",
    "Reel",
    "Scale",
    "Signal",
    "Spread",
    "Target",
    "cell_of",
    "colours",
    "compared",
    "coverage",
    "density",
    "drift",
    "ends",
    "histogram",
    "hue_name",
    "instruments",
    "level_of",
    "measure",
    "measure_parts",
    "parade",
    "reel",
    "row_of",
    "rows_of",
    "split",
    "targets",
    "vectorscope",
    "waveform",
]
