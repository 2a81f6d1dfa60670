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
"""How near the darkest pixels come to all three floors, as a share of their ranges: up to the first a black shows each
channel's flare; from the second on floors are of coloured surfaces, and only the lowest counts, for all three."""
COLOURED, SPREAD = 0.2, 0.08
"""Floors that differ by the first are of a coloured surface; by less than that by the second, each may be flare."""
ALIKE, UNLIKE = 0.2, 0.45
"""Natural logarithms between the colours of floor and ceiling, in light: up to the first the floor may be a veil of the
scene's own light; from the second on it was lifted in code."""
VEIL, NO_VEIL = 0.03, 0.08
"""How near the darkest pixels come to two of the floors where they show a veil: one channel may go below it, since
saturated colours do under a coloured light."""
DIM_WHITE, WHITE = 0.8, 0.95
"""How far one pixel reaches all three ceilings: up to the first they are of coloured surfaces and tell of no light."""
MARGIN = 0.008
"""What stays of a floor, in sRGB code, two steps of 8 bits: a black that is lifted is not crushed on its way down."""
LIKELY, SCENE = 0.25, 0.45
"""A floor beyond the first may be the scene's own, such as fog or a white wall; at the second nothing is taken off."""
SHORT, FULL = 0.9, 0.985
"""Ceilings below the first say that the code was compressed, so its floor was lifted in code; ceilings at the second
or above say that the recording reaches white, as it does through haze and lens flare."""
IN_CODE, IN_LIGHT = 0.95, 0.1
"""The share of flare in code for these: what a floor does not say for sure is hedged."""
TOGETHER, EACH = 0.03, 0.05
"""Flare in code that differs between channels by less than the first lifted all of them; by the second, each had an
offset of its own in code, and then its own gain as well."""
STEP = 0.004
"""How exactly a floor is known, in code: one step of 8 bits."""
CLIPPED, BEYOND = 0.998, 0.35
"""A ceiling from the first on is one of the recording; the light may have gone on by the second, as a logarithm."""
BRIGHT = 0.06
"""A veil above it, in sRGB code, shows the colour of the light that is scattered."""


@dataclass(frozen=True)
class Floor:
    """The flare of a picture.

    Attributes:
        light: a light stage with the flare and its share in code, neutral otherwise.
        note: the sentence that says why.
        veil: (3,) the linear light of a veil that shows the colour of the scene's light; None where none does.
        by_channel: 0..1, how far each channel was recorded with its own gain and offset in code.
    """

    light: Light = NEUTRAL.light
    note: str = ""
    veil: Array | None = None
    by_channel: float = 0.0


def solve_floor(
    at: Ends, black: Array, near: Array, white: float, encoding: Encoding, coloured: float = COLOURED
) -> Floor:
    """The flare that sends each channel's floor to black.

    Args:
        at: the ends of the picture as sRGB code.
        black, near: the code of the darkest pixels, (3,), and how near they come to each floor, as `ends.darkest` says.
        white: how far one pixel reaches all three ceilings, 0..1, as `ends.whiteness` says.
        coloured: how far floors differ, in sRGB code, where they are of a coloured surface; 1 for never.
    """
    veiled = _veiled(at, black, near, white)
    low = veiled * np.maximum(black, 0) + (1 - veiled) * _bottom(at, near, coloured)
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
    share, why = in_code(at, low, source)
    by_channel = float(np.interp(np.ptp(flare), [TOGETHER, EACH], [0, 1]) * np.interp(share, [0.5, IN_CODE], [0, 1]))
    share = round(share + by_channel * (1 - share), 2)
    red, green, blue = flare
    note = f"flare {red:.3f} {green:.3f} {blue:.3f}, {100 * share:.0f} % of it in code: {why}"
    if kept < 1:
        note += f"; only {100 * kept:.0f} % is taken off, since so high a floor may be the scene's own"
    shows = is_display(source) and black.min() > BRIGHT and veiled > 0.5
    veil = decode("sRGB", black) if shows else None
    return Floor(Light(flare=(red, green, blue), flare_in_code=share), note, veil, by_channel)


def _bottom(at: Ends, near: Array, coloured: float) -> Array:
    """Each channel's floor where a black shows it, else the lowest of them for all three: (3,) in sRGB code."""
    low = np.maximum(at.low, 0)
    each = np.interp(near.max(), [ONE_BLACK, NO_BLACK], [1, 0])
    each *= np.interp(np.ptp(low), [coloured - SPREAD, coloured], [1, 0])
    return np.asarray(each * low + (1 - each) * low.min())


def _veiled(at: Ends, black: Array, near: Array, white: float) -> float:
    """How far the darkest pixels show a veil of the scene's own light, 0..1; a compressed recording shows none."""
    alike = np.interp(unlike(black, at.high), [ALIKE, UNLIKE], [1, 0])
    stands = np.interp(np.sort(near)[1], [VEIL, NO_VEIL], [1, 0]) * np.interp(white, [DIM_WHITE, WHITE], [0, 1])
    return float(alike * stands * np.interp(_top(at), [SHORT, FULL], [0, 1]))


def in_code(at: Ends, low: Array, source: str) -> tuple[float, str]:
    """The share of flare that lies in code, and the reason: low ceilings, or a floor of another colour than these.

    Args:
        low: (3,) the floor, as sRGB code.
    """
    if source == "linear" or not is_display(source):
        return 0.0, "the source holds light or its logarithm"
    top = _top(at)
    short = float(np.interp(top, [SHORT, FULL], [1, 0]))
    other = float(np.interp(unlike(low, at.high), [ALIKE, UNLIKE], [0, 1]))
    share = round(IN_LIGHT + (IN_CODE - IN_LIGHT) * max(short, other), 2)
    if other > short:
        return share, "the blacks are not of the colour of the whites"
    if top <= SHORT:
        return share, f"the code ends at {top:.2f}, as a compressed recording does"
    return share, "the code reaches white" if top >= FULL else f"the code nearly reaches white, at {top:.2f}"


def unlike(low: Array, high: Array) -> float:
    """How far a floor's colour is from the ceiling's, in light: the larger natural logarithm of red and blue to green.

    A clipped ceiling may have been higher, and a floor is only known to a step of code: both count in favour.

    Args:
        low, high: (3,) sRGB code.

    Example:
        >>> unlike(np.full(3, 0.1), np.full(3, 0.9))
        0.0
    """
    low = np.maximum(low, STEP)
    floor, ceiling = (np.log(np.maximum(decode("sRGB", code), 1e-4)) for code in (low, high))
    off, clipped = floor - ceiling - (floor - ceiling)[1], high >= CLIPPED
    off = np.where(off > 0, np.maximum(off - BEYOND * clipped, 0), np.minimum(off + BEYOND * clipped[1], 0))
    exact = 2.4 * STEP / low  # of a logarithm, by the exponent of sRGB
    return float(np.maximum(np.abs(off) - exact - exact[1], 0)[[0, 2]].max())


def _top(at: Ends) -> float:
    """The mean of the two highest ceilings, as sRGB code."""
    return float(np.sort(at.high)[1:].mean())
