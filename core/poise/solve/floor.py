"""Flare, estimated from the floor of each channel: the lowest code, which would be black without flare."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour.transfer import black_code, decode, encode, is_display
from poise.correction.controls import FLARE
from poise.correction.model import NEUTRAL, Encoding, Light
from poise.solve.ends import Ends

Array = npt.NDArray[np.float64]

BLACK, LIFTED = 0.015, 0.03
"""Floors in sRGB code: up to the first nothing is subtracted, from the second on the whole floor is."""
ONE_BLACK, NO_BLACK = 0.05, 0.15
"""Distance of the darkest pixels from the floors, as a share of the range: up to the first they are a black, whose
channels give the flare of each channel; from the second on coloured surfaces set the floors, and the lowest floor is
used for all three channels."""
COLOURED, SPREAD = 0.2, 0.08
"""Floors that differ by the first, in sRGB code, belong to a coloured surface; each may be flare if they differ by the
second less than that."""
ALIKE, UNLIKE = 0.2, 0.45
"""Difference in log chromaticity between floor and ceiling, in linear light: up to the first the floor may be veiling
glare from the scene's light; from the second on it was lifted in code."""
VEIL, NO_VEIL = 0.03, 0.08
"""Distance of the darkest pixels from the second-nearest floor, as a share of the range, at which they show a veil, and
at which they don't. The third channel is ignored: under a coloured light saturated colours fall below the veil."""
DIM_WHITE, WHITE = 0.8, 0.95
"""`ends.whiteness`: up to the first coloured surfaces set the ceilings, which then say nothing about the light; from
the second on a white does."""
MARGIN = 0.008
"""The part of a floor that is never subtracted, in sRGB code: two 8-bit steps, so that lifted blacks aren't crushed."""
LIKELY, SCENE = 0.25, 0.45
"""A floor above the first, in sRGB code, may belong to the scene, such as fog or a white wall; from the second on
nothing is subtracted."""
SHORT, FULL = 0.9, 0.985
"""Ceilings below the first mean that the range was compressed, so the floor was lifted in code. Ceilings at the second
or above mean that the recording reaches full scale, as it does with haze or lens flare."""
IN_CODE, IN_LIGHT = 0.95, 0.1
"""The share of flare in code for a compressed range and for full scale; neither is extreme, since neither is
certain."""
TOGETHER, EACH = 0.03, 0.05
"""Difference of flare in code between the channels: below the first one offset was applied to all; from the second on
each channel had a separate offset, and so a separate gain as well."""
STEP = 0.004
"""The precision of a floor, in code: one 8-bit step."""
CLIPPED, BEYOND = 0.998, 0.35
"""A ceiling at the first or above is clipped; the light may have been brighter by the second, as a natural
logarithm."""
BRIGHT = 0.06
"""A veil above this, in sRGB code, is bright enough to show the colour of the scattered light."""


@dataclass(frozen=True)
class Floor:
    """The flare of a picture.

    Attributes:
        light: a light stage with the flare and its share in code; its other values are neutral.
        note: one clause for the user, with the flare and the reason.
        veil: (3,) the veil in linear light, if it shows the colour of the scene's light; else None.
        by_channel: 0..1, the degree to which each channel has a separate gain and offset in code.
    """

    light: Light = NEUTRAL.light
    note: str = ""
    veil: Array | None = None
    by_channel: float = 0.0


def solve_floor(
    at: Ends, black: Array, gap: Array, white: float, encoding: Encoding, coloured: float = COLOURED
) -> Floor:
    """The flare that brings the floor of each channel to black when it is subtracted.

    Args:
        at: the ends of the picture, in sRGB code.
        black, gap: (3,) each, the results of `ends.darkest`.
        white: 0..1, the result of `ends.whiteness`.
        coloured: the difference between floors, in sRGB code, from which a coloured surface sets them; 1 for never.

    Raises:
        PoiseError: the encoding names an unknown transfer function.

    Example:
        >>> at = Ends(np.full(3, 0.1), np.ones(3), np.zeros(3))
        >>> solve_floor(at, at.low, np.zeros(3), 1.0, Encoding()).light.flare
        (0.092, 0.092, 0.092)
    """
    veiled = _veiled(at, black, gap, white)
    low = veiled * np.maximum(black, 0) + (1 - veiled) * _bottom(at, gap, coloured)
    kept = np.interp(low.max(), [LIKELY, SCENE], [1, 0])
    floor = np.maximum(low - MARGIN, 0) * np.clip((low - BLACK) / (LIFTED - BLACK), 0, 1) * kept
    if low.max() <= BLACK:
        return Floor(note="every channel reaches black: no flare")
    if kept == 0:
        return Floor(note="the blacks are too high to be flare: none is subtracted")
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
        note += f"; only {100 * kept:.0f} % is subtracted, since a floor this high may belong to the scene"
    shows = is_display(source) and black.min() > BRIGHT and veiled > 0.5
    veil = decode("sRGB", black) if shows else None
    return Floor(Light(flare=(red, green, blue), flare_in_code=share), note, veil, by_channel)


def _bottom(at: Ends, gap: Array, coloured: float) -> Array:
    """The floor of each channel if the picture contains a black, else the lowest for all three: (3,) in sRGB code."""
    low = np.maximum(at.low, 0)
    each = np.interp(gap.max(), [ONE_BLACK, NO_BLACK], [1, 0])
    each *= np.interp(np.ptp(low), [coloured - SPREAD, coloured], [1, 0])
    return np.asarray(each * low + (1 - each) * low.min())


def _veiled(at: Ends, black: Array, gap: Array, white: float) -> float:
    """How likely the darkest pixels show a veil of the scene's light, 0..1; a compressed range gives 0."""
    alike = np.interp(colour_difference(black, at.high), [ALIKE, UNLIKE], [1, 0])
    hazy = np.interp(np.sort(gap)[1], [VEIL, NO_VEIL], [1, 0]) * np.interp(white, [DIM_WHITE, WHITE], [0, 1])
    return float(alike * hazy * np.interp(_top(at), [SHORT, FULL], [0, 1]))


def in_code(at: Ends, low: Array, source: str) -> tuple[float, str]:
    """The share of flare that was added in code and not in light, 0..1, with the reason.

    It is high if the ceilings are low, or if the floor differs from them in colour.

    Args:
        at: the ends of the picture, in sRGB code.
        low: (3,) the floor, in sRGB code.
        source: the transfer function of the source; the share is 0 for linear and log sources.

    Example:
        >>> in_code(Ends(np.full(3, 0.1), np.ones(3), np.zeros(3)), np.full(3, 0.1), "sRGB")
        (0.1, 'the whites reach full scale')
    """
    if source == "linear" or not is_display(source):
        return 0.0, "the source is linear or logarithmic"
    top = _top(at)
    short = float(np.interp(top, [SHORT, FULL], [1, 0]))
    other = float(np.interp(colour_difference(low, at.high), [ALIKE, UNLIKE], [0, 1]))
    share = round(IN_LIGHT + (IN_CODE - IN_LIGHT) * max(short, other), 2)
    if other > short:
        return share, "the blacks and the whites differ in colour"
    if top <= SHORT:
        return share, f"the range was compressed, as the whites end at {top:.2f}"
    return share, "the whites reach full scale" if top >= FULL else f"the whites end near full scale, at {top:.2f}"


def colour_difference(low: Array, high: Array) -> float:
    """The difference in chromaticity between floor and ceiling: the larger of the log ratios red/green and blue/green.

    It is the smallest difference that is possible, given that the light of a clipped channel may have been brighter and
    that the floor is known only to one 8-bit step.

    Args:
        low, high: (3,) floor and ceiling, in sRGB code.

    Returns:
        A natural logarithm, of linear light, 0 or more.

    Example:
        >>> colour_difference(np.full(3, 0.1), np.full(3, 0.9))
        0.0
    """
    low = np.maximum(low, STEP)
    floor, ceiling = (np.log(np.maximum(decode("sRGB", code), 1e-4)) for code in (low, high))
    off, clipped = floor - ceiling - (floor - ceiling)[1], high >= CLIPPED
    off = np.where(off > 0, np.maximum(off - BEYOND * clipped, 0), np.minimum(off + BEYOND * clipped[1], 0))
    exact = 2.4 * STEP / low  # of the logarithm, by the exponent of sRGB
    return float(np.maximum(np.abs(off) - exact - exact[1], 0)[[0, 2]].max())


def _top(at: Ends) -> float:
    """The mean of the two highest ceilings, in sRGB code."""
    return float(np.sort(at.high)[1:].mean())
