"""Plain ways to correct a picture, which auto must beat, and auto itself: pixels of 8 bits to a correction of code."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from poise.chain import order
from poise.colour.luma import luma, weights
from poise.colour.transfer import decode, encode
from poise.correction import CODED
from poise.frames.frame import Depth
from poise.frames.proxy import proxy
from poise.solve import auto
from poise.solve.ends import noise, squares
from poise.solve.estimators import gray_world, grey_edge, max_rgb, shades_of_gray
from poise.solve.levels import solve_levels

Code = npt.NDArray[np.float64]
Pixels = npt.NDArray[np.uint8]
Corrected = Callable[[Code], Code]
BY = weights("ITU-R BT.709")


def nothing(pixels: Pixels) -> Corrected:
    return lambda code: code


def channel_stretch(pixels: Pixels, percent: float = 0.5) -> Corrected:
    """Each channel's low percentile to 0 and its high one to 1."""
    code = proxy(pixels, 480, 270).reshape(-1, 3) / 255
    low, high = np.percentile(code, [percent, 100 - percent], axis=0)
    return lambda code: np.clip((code - low) / np.maximum(high - low, 0.02), 0, 1)


def channel_min_max(pixels: Pixels) -> Corrected:
    """Each channel's lowest value to 0 and its highest to 1."""
    return channel_stretch(pixels, 0)


def estimated(estimator: Callable[[Code], Code]) -> Callable[[Pixels], Corrected]:
    """One estimator's light divided out in full, luma of a neutral held, then auto's levels."""

    def corrected(pixels: Pixels) -> Corrected:
        small = decode("sRGB", proxy(pixels, 480, 270) / 255)
        light = np.clip(estimator(small), 0.02, 50)
        light = light / luma(*light, BY)
        levels = solve_levels(encode("sRGB", small / light), noise(squares(pixels) / 255), "ITU-R BT.709").levels
        reach = levels.white - levels.black
        return lambda code: np.clip((encode("sRGB", decode("sRGB", code) / light) - levels.black) / reach, 0, 1)

    return corrected


def by_auto(pixels: Pixels) -> Corrected:
    correction = auto(pixels, CODED, Depth.U8).correction

    def corrected(code: Code) -> Code:
        for stage in order.steps(correction, CODED, clamp=True):
            code = stage(code)
        return code

    return corrected


AUTO, NOTHING = "auto", "nothing"
PLAIN: dict[str, Callable[[Pixels], Corrected]] = {
    NOTHING: nothing,
    "channel stretch": channel_stretch,
    "channel min, max": channel_min_max,
    "gray-world, levels": estimated(gray_world),
}
ESTIMATORS: dict[str, Callable[[Pixels], Corrected]] = {
    "max-RGB, levels": estimated(max_rgb),
    "shades, levels": estimated(shades_of_gray),
    "grey-edge, levels": estimated(grey_edge),
}
WAYS = {**PLAIN, **ESTIMATORS, AUTO: by_auto}
