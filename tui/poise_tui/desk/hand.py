"""The hand: which table is worked at, and how the desk, the cursor and the choices on it stand."""

from dataclasses import dataclass
from typing import Literal

from poise.correction import Zone

Mode = Literal["balance", "pick", "matte", "curve", "drift", "reel"]
MODES: tuple[Mode, ...] = ("balance", "pick", "matte", "curve", "drift", "reel")
"""Balancing a shot, picking what should be grey in it, keying a colour, shaping curves, looking at what a sequence does
over its frames, and at all shots side by side."""

Channel = Literal["red", "green", "blue", "master"]
CHANNELS: tuple[Channel, ...] = ("red", "green", "blue", "master")

Place = tuple[float, float]
"""Of a point on a picture, 0..1 from left to right and from top to bottom."""

Shown = Literal["result", "matte", "keyed"]
"""What the picture of the matte table shows: the result, the matte alone, or the keyed colour with all else grey."""

Wipe = Literal["before", "reference", "neighbour"]
WIPES: tuple[Wipe, ...] = ("before", "reference", "neighbour")
"""What stands on the left of a wipe across the instruments."""

STEPS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""How many steps of a control one key press is."""
PATCHES = (0.01, 0.02, 0.04, 0.08)
"""Sides of the square that a sample averages, as shares of picture height."""


@dataclass(frozen=True)
class Hand:
    """How the desk stands.

    Attributes:
        bank: of the mode's desk, from 0.
        zone: what balance columns move.
        size: the place in STEPS.
        place: of the cursor on the picture, 0..1 from left to right and from top to bottom.
        patch: the place in PATCHES.
        matte: which one is in hand; as many as there are stands for one to be made.
        inverted: whether a matte is shown the other way round.
        channel: whose curve is in hand.
        at: the input that the curve's cursor stands at, in code value.
        wipe: what the shot is wiped against; None without a wipe.
        split: where the wipe stands, a share of the picture's width.
        corners: of a chart, those that were set so far; places as the cursor's.
        each: how many shots stand in a column of the reel.
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
    corners: tuple[Place, ...] = ()
    each: int = 1

    @property
    def step(self) -> float:
        return STEPS[self.size]
