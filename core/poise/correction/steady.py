"""Steady values: a gain in light for each frame of a sequence, which takes its flicker away."""

from typing import Annotated

from msgspec import Meta, Struct, field
from msgspec.structs import asdict, replace

from poise.correction import controls as c
from poise.correction.model import Correction, SteadyLight

Gain = Annotated[float, Meta(ge=c.EXPOSURE.low, le=c.EXPOSURE.high)]
Gains = tuple[Gain | None, ...]


class Steady(Struct, frozen=True):
    """The gains of frames, in stops, from one frame number on; null for a frame that was missing.

    Attributes:
        first: JSON key `from`; the frame number of the first value.
        exposure: for red, green and blue alike.
        red, blue: on top of that, as many; or empty, if only the level is steadied.
    """

    first: Annotated[int, Meta(ge=0)] = field(name="from")
    exposure: Gains
    red: Gains = ()
    blue: Gains = ()

    def __post_init__(self) -> None:
        for name in ("red", "blue"):
            if len(getattr(self, name)) not in (0, len(self.exposure)):
                raise ValueError(f".{name}: it must have as many values as exposure, or none")

    def at(self, frame: int) -> tuple[float, float, float] | None:
        """The gains of exposure, red and blue at a frame; None for a frame without.

        Example:
            >>> Steady(101, (0.1, -0.1)).at(102), Steady(101, (0.1,)).at(300)
            ((-0.1, 0.0, 0.0), None)
        """
        place = frame - self.first
        if not 0 <= place < len(self.exposure):
            return None
        exposure, red, blue = (values[place] if values else 0.0 for values in (self.exposure, self.red, self.blue))
        return None if exposure is None else (exposure, red or 0.0, blue or 0.0)


def steadied(correction: Correction, steady: Steady | None, frame: int | None) -> Correction:
    """A correction with the gains of a frame; itself for a frame without.

    Args:
        frame: the frame number; None for a still.

    Example:
        >>> steadied(Correction(), Steady(101, (0.5,)), 101).light.exposure
        0.5
    """
    gains = steady.at(frame) if steady is not None and frame is not None else None
    if not gains or not any(gains):
        return correction
    exposure, red, blue = gains
    light = replace(correction.light, exposure=round(correction.light.exposure + exposure, 12))
    if red or blue:
        light = SteadyLight(**asdict(light), red=red, blue=blue)
    return replace(correction, light=light)
