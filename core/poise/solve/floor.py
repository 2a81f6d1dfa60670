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
ALIKE, UNLIKE = 0.2, 0.45
"""Natural logarithms between the colours of floor and ceiling, in light: up to the first, the floor may be a veil of the
scene's own light; from the second on it was lifted in code."""
NEAR2 = [0.03, 0.08]
VEIL = 0.06
"""A floor above it, in sRGB code, that lies in light shows the colour of the light that is scattered."""
STEP = 0.004
"""How exactly a floor is known, in code."""
IN_CODE, IN_LIGHT = 0.95, 0.1
"""The share of flare in code for these: what a floor does not say for sure is hedged."""
CLIPPED, BEYOND = 0.998, 0.35
"""A ceiling from the first on is one of the recording, and the light may have gone on by the second, as a logarithm."""


@dataclass(frozen=True)
class Floor:
    """Flare, its share in code, and the sentence that says why."""

    light: Light = NEUTRAL.light
    note: str = ""
    veil: Array | None = None


def solve_floor(at: Ends, black: Array, near: Array, white: float, encoding: Encoding) -> Floor:
    """The flare that sends each channel's floor to black.

    Args:
        at: the ends of the picture as sRGB code.
        black, near: the code of the darkest pixels, (3,), and how near they come to all three floors, as
            `ends.darkest` tells.
        white: how far one pixel reaches all three ceilings, 0..1.
    """
    low = np.maximum(at.low, 0)
    stands = np.interp(near.max(), [ONE_BLACK, NO_BLACK], [1, 0])
    veil = np.interp(unlike(black, at.high), [ALIKE, UNLIKE], [1, 0])
    veil *= np.interp(np.sort(near)[1], NEAR2, [1, 0]) * np.interp(white, [0.8, 0.95], [0, 1])
    veil *= np.interp(np.sort(at.high)[1:].mean(), [SHORT, FULL], [0, 1])
    low = veil * np.maximum(black, 0) + (1 - veil) * (stands * low + (1 - stands) * low.min())
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
    red, green, blue = flare
    note = f"flare {red:.3f} {green:.3f} {blue:.3f}, {100 * share:.0f} % of it in code: {why}"
    if kept < 1:
        note += f"; only {100 * kept:.0f} % is taken off, since so high a floor may be the scene's own"
    lit = decode("sRGB", low) if is_display(source) and low.min() > VEIL and share < 0.5 else None
    return Floor(Light(flare=(red, green, blue), flare_in_code=share), note, lit)


def in_code(at: Ends, low: Array, source: str) -> tuple[float, str]:
    """The share of flare that lies in code, and what tells it: the two highest ceilings, where code is a display's."""
    if source == "linear" or not is_display(source):
        return 0.0, "the source holds light or its logarithm"
    top = float(np.sort(at.high)[1:].mean())
    apart = unlike(low, at.high)
    short, lifted = np.interp(top, [SHORT, FULL], [1, 0]), np.interp(apart, [ALIKE, UNLIKE], [0, 1])
    share = round(float(IN_LIGHT + (IN_CODE - IN_LIGHT) * max(short, lifted)), 2)
    if lifted >= short and lifted > 0:
        return share, "the floor's colour is not that of the ceiling"
    if top <= SHORT:
        return share, f"the code ends at {top:.2f}, as a compressed recording does"
    return share, "the code reaches white" if top >= FULL else f"the code nearly reaches white, at {top:.2f}"


def unlike(low: Array, high: Array) -> float:
    """How far a floor's colour lies from the ceiling's, in light, as the larger of two natural logarithms."""
    floor, ceiling = (np.log(np.maximum(decode("sRGB", each), 1e-4)) for each in (np.maximum(low, STEP), high))
    off = floor - ceiling - (floor - ceiling)[1]
    clipped = high >= CLIPPED
    room_down, room_up = BEYOND * clipped, BEYOND * clipped[1]
    off = np.where(off > 0, np.maximum(off - room_down, 0), np.minimum(off + room_up, 0))
    exact = 2.4 * STEP / np.maximum(low, STEP)
    return float(np.maximum(np.abs(off) - exact - exact[1], 0)[[0, 2]].max())
