"""Steady values: a gain in light for each frame of a sequence, which removes its flicker."""

from typing import Annotated

from msgspec import Meta, Struct, field
from msgspec.structs import asdict, replace

from poise.correction import controls as c
from poise.correction.model import Correction, SteadyLight

Gain = Annotated[float, Meta(ge=c.EXPOSURE.low, le=c.EXPOSURE.high)]
Gains = tuple[Gain | None, ...]


class Steady(Struct, frozen=True):
    """The gains of consecutive frames, in stops; None (JSON `null`) for a frame that was missing.

    Attributes:
        first: the frame number of the first value, 0 or more; its JSON key is `from`.
        exposure: the gain of all channels, within the limits of exposure.
        red, blue: added to the exposure of that channel; as many values as exposure, or none.

    Raises:
        ValueError: red or blue have another number of values than exposure.
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
        """The gains of exposure, red and blue at a frame, in stops; None if the frame has none.

        Args:
            frame: the frame number.

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
    """A correction with the gains of a frame added to it.

    Args:
        steady: the steady values of the sequence; None if it has none.
        frame: the frame number; None for a still.

    Returns:
        The same correction if the frame has no gains.

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
