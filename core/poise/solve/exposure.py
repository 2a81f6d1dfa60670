"""Exposure: a float picture far over or under is brought near full range in light, before its levels are set."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour.luma import luma, weights
from poise.colour.transfer import decode, is_display
from poise.correction.controls import EXPOSURE
from poise.correction.model import Encoding
from poise.solve.levels import AIM_WHITE

Array = npt.NDArray[np.float64]

LEAST_STOPS = 1.0
"""Less is left to black and white point."""
DIMMEST = 0.09
"""Light that the median is not taken below, one stop under 18 % grey: the sun is no reason to drown the picture."""
NOTHING = 1e-6
"""Light below which there is no picture to be exposed."""


@dataclass(frozen=True)
class Exposed:
    """Stops, and the sentence that says why; nothing to say for none."""

    stops: float = 0.0
    note: str = ""


def solve_exposure(light: Array, encoding: Encoding, under: bool) -> Exposed:
    """The stops that bring the 99.5th percentile of luma to where white should be, if it is farther off than a stop.

    Args:
        light: (..., 3) linear light in the encoding's primaries.
        under: whether it may be raised: an integer picture that is dark has no more to show.

    Example:
        >>> solve_exposure(np.full((4, 4, 3), 40.0), Encoding(), under=False).stops
        -5.44
    """
    rgb = light.reshape(-1, 3)
    rgb = rgb[np.isfinite(rgb).all(axis=1)]
    aim = float(decode(encoding.work, np.array(AIM_WHITE)))
    if not len(rgb) or not is_display(encoding.work):
        return Exposed()
    y = luma(rgb[:, 0], rgb[:, 1], rgb[:, 2], weights(encoding.primaries))
    middle, high = np.percentile(y, [50, 99.5])
    if high < NOTHING:
        return Exposed()
    stops, held = float(np.log2(aim / high)), ""
    least = min(float(np.log2(DIMMEST / max(middle, NOTHING))), 0.0)
    if stops < least:
        stops, held = least, ", held so that the middle of the picture stays visible"
    if abs(stops) < LEAST_STOPS or (stops > 0 and not under):
        return Exposed()
    stops = round(min(max(stops, EXPOSURE.low), EXPOSURE.high), 2)
    return Exposed(stops, f"exposure {stops:+.2f} stops: the picture was far {'under' if stops > 0 else 'over'}{held}")
