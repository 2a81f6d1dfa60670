"""The correction of a shot: the model, its controls, nudges and history."""

from poise.correction.checks import checked
from poise.correction.controls import CONTROLS, Control
from poise.correction.history import History
from poise.correction.keyframes import Keyframe, correction_at
from poise.correction.model import (
    CODED,
    LINEAR,
    NEUTRAL,
    Balance,
    Correction,
    Curves,
    Encoding,
    Inside,
    Interval,
    Levels,
    Light,
    Matte,
    Tone,
    default_encoding,
)
from poise.correction.nudges import Zone, nudge

__all__ = [
    "CODED",
    "CONTROLS",
    "LINEAR",
    "NEUTRAL",
    "Balance",
    "Control",
    "Correction",
    "Curves",
    "Encoding",
    "History",
    "Inside",
    "Interval",
    "Keyframe",
    "Levels",
    "Light",
    "Matte",
    "Tone",
    "Zone",
    "checked",
    "correction_at",
    "default_encoding",
    "nudge",
]
