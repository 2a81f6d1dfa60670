"""Flare from the floor of each channel: what lies at the bottom of the parade and should be black."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour.transfer import black_code, decode, encode, is_display
from poise.correction.controls import FLARE
from poise.correction.model import NEUTRAL, Encoding, Light
from poise.solve.ends import Ends

Array = npt.NDArray[np.float64]

BLACK, LIFTED = 0.015, 0.03
"""A floor up to the first, in sRGB code, is black enough; from the second on it is taken off in full."""
ONE_BLACK, NO_BLACK = 0.05, 0.15
"""How near one pixel comes to all three floors, as a share of their ranges: up to the first a black shows each
channel's flare; from the second on floors are of coloured surfaces, and only the lowest counts, for all three."""
MARGIN = 0.008
"""What stays of a floor, in sRGB code, two steps of 8 bits: a black that is lifted is not crushed on its way down."""
LIKELY, SCENE = 0.25, 0.45
"""A floor beyond the first may be the scene's own, such as fog or a white wall; at the second nothing is taken off."""
SHORT, FULL = 0.9, 0.985
"""Ceilings below the first say that the code was compressed, so its floor was lifted in code; ceilings at the second
or above say that the recording reaches white, as it does through haze and lens flare."""
IN_CODE_SHORT, IN_CODE_FULL = 0.95, 0.1
"""The share of flare in code for these: what a floor does not say for sure is hedged."""


@dataclass(frozen=True)
class Floor:
    """Flare, its share in code, and the sentence that says why."""

    light: Light = NEUTRAL.light
    note: str = ""


def solve_floor(at: Ends, black: float, encoding: Encoding) -> Floor:
    """The flare that sends each channel's floor to black.

    Args:
        at: the ends of the picture as sRGB code.
        black: how near one pixel comes to all three floors, 0..1, as `ends.blackness` tells.
    """
    low = np.maximum(at.low, 0)
    low = low.min() + (low - low.min()) * np.interp(black, [ONE_BLACK, NO_BLACK], [1, 0])
    kept = np.interp(low.max(), [LIKELY, SCENE], [1, 0])
    floor = np.maximum(low - MARGIN, 0) * np.clip((low - BLACK) / (LIFTED - BLACK), 0, 1) * kept
    if low.max() <= BLACK:
        return Floor(note="every channel reaches black: no flare")
    if kept == 0:
        return Floor(note="blacks are too high to be lifted ones: no flare taken off")
    source = encoding.given
    lifted = np.asarray(encode(source, decode("sRGB", floor)) if source != "sRGB" else floor)
    off = np.clip(lifted - black_code(source) if source != "linear" else lifted, 0, FLARE.high)
    flare = tuple(round(float(value), 4) for value in np.where(floor > 0, off, 0.0))
    if not any(flare):
        return Floor(note="every channel nearly reaches black: no flare")
    share, why = in_code(at, source)
    red, green, blue = flare
    note = f"flare {red:.3f} {green:.3f} {blue:.3f}, {100 * share:.0f} % of it in code: {why}"
    if kept < 1:
        note += f"; only {100 * kept:.0f} % is taken off, since so high a floor may be the scene's own"
    return Floor(Light(flare=(red, green, blue), flare_in_code=share), note)


def in_code(at: Ends, source: str) -> tuple[float, str]:
    """The share of flare that lies in code, and what tells it: the two highest ceilings, where code is a display's."""
    if source == "linear" or not is_display(source):
        return 0.0, "the source holds light or its logarithm"
    top = float(np.sort(at.high)[1:].mean())
    share = round(float(np.interp(top, [SHORT, FULL], [IN_CODE_SHORT, IN_CODE_FULL])), 2)
    if top <= SHORT:
        return share, f"the code ends at {top:.2f}, as a compressed recording does"
    return share, "the code reaches white" if top >= FULL else f"the code nearly reaches white, at {top:.2f}"
