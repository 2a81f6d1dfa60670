"""The hand: the mode, and the state of the desk, the cursor and the choices in each mode."""

from dataclasses import dataclass
from typing import Literal

from poise.correction import Zone
from poise.scopes.levels import WHOLE, Scale

Mode = Literal["balance", "pick", "matte", "curve", "drift", "reel"]
MODES: tuple[Mode, ...] = ("balance", "pick", "matte", "curve", "drift", "reel")
"""Balance a shot, pick what should be grey, key a colour, shape curves, see the levels of a sequence over its frames,
and see all shots side by side."""

Channel = Literal["red", "green", "blue", "master"]
CHANNELS: tuple[Channel, ...] = ("red", "green", "blue", "master")

Place = tuple[float, float]
"""A point on a picture, 0..1 from left to right and from top to bottom."""

Shown = Literal["result", "matte", "keyed"]
"""What the picture shows in matte mode: the result, the matte alone, or the keyed colour with all else grey."""

Wipe = Literal["before", "reference", "neighbour", "version"]
WIPES: tuple[Wipe, ...] = ("before", "reference", "neighbour", "version")
"""What is shown left of a wipe across the instruments."""

SCALES: tuple[tuple[str, Scale], ...] = (
    ("whole", WHOLE),
    ("bottom 20 %", Scale(-0.02, 0.21)),
    ("middle 20 %", Scale(0.385, 0.615)),
    ("top 20 %", Scale(0.795, 1.025)),
)
"""The parts of the level scale that instruments show, each part a little wider than its name."""
GAINS = (1, 2, 4)
"""How much the vectorscope is enlarged about neutral."""

STEPS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""How many steps of a control one key press moves."""
PATCHES = (0.01, 0.02, 0.04, 0.08)
"""Sides of the patch under the cursor, as shares of picture height."""


@dataclass(frozen=True)
class Hand:
    """The state of the desk.

    Attributes:
        bank: the index of the current bank in the mode.
        zone: what balance columns move.
        size: the index in STEPS.
        place: of the cursor on the picture, 0..1 from left to right and from top to bottom.
        patch: the index in PATCHES.
        matte: the index of the current matte; the number of mattes means one still to be made.
        inverted: whether a matte is shown inverted.
        channel: whose curve is the current one.
        at: the input of the curve's cursor, in code value.
        wipe: what the shot is compared with across a wipe; None without a wipe.
        split: the position of the wipe, as a share of the picture's width.
        versions: the version left of a wipe, and the one right of it unless that is the shot; empty for the latest.
        corners: the corners of a chart set so far.
        each: how many shots one column of the reel shows.
        scale: the index in SCALES.
        gain: of the vectorscope, one of GAINS.
    """

    bank: int = 0
    zone: Zone = Zone.WHOLE
    size: int = 2
    mode: Mode = "balance"
    place: Place = (0.5, 0.5)
    patch: int = 1
    matte: int = 0
    shown: Shown = "result"
    inverted: bool = False
    channel: Channel = "master"
    at: float = 0.5
    wipe: Wipe | None = None
    split: float = 0.5
    versions: tuple[str, ...] = ()
    corners: tuple[Place, ...] = ()
    each: int = 1
    scale: int = 0
    gain: int = 1

    @property
    def shown_scale(self) -> Scale:
        """The part of the level scale that the instruments show."""
        return SCALES[self.scale][1]

    @property
    def step(self) -> float:
        return STEPS[self.size]
