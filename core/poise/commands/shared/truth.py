"""The mean CIEDE2000 between the known greys of a demo shot and their true values."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from poise.frames import Frame


def grey_error(frame: "Frame", greys: Sequence[dict[str, Any]]) -> float:
    """The mean CIEDE2000 (CIE 142-2001) between grey patches and their true codes.

    Args:
        frame: with BT.709 primaries; of code that no header names, sRGB.
        greys: each with `rectangle` (x, y, width, height) in pixels and `code`, sRGB 0..1.

    Example:
        grey_error(read("quay_01.tif"), truth["shots"]["quay_01.tif"]["greys"])
    """
    import numpy as np

    from poise.colour import transfer
    from poise.colour.ranges import narrow_affine
    from poise.colour.science import colour

    pixels = frame.colour.astype(np.float64) / frame.depth.maximum
    means = []
    for grey in greys:
        x, y, width, height = grey["rectangle"]
        means.append(pixels[y : y + height, x : x + width].mean(axis=(0, 1)))
    true = [[grey["code"]] * 3 for grey in greys]
    codes = np.asarray(means)
    if frame.tags is not None:
        if frame.tags.range == "narrow":
            slope, offset = narrow_affine(frame.depth.bits)
            codes = slope * codes + offset
        codes = transfer.encode("sRGB", np.clip(transfer.decode(frame.tags.transfer, codes), 0, None))
    elif frame.linear:
        codes = transfer.encode("sRGB", np.clip(codes, 0, None))
    lab, true_lab = (colour.XYZ_to_Lab(colour.sRGB_to_XYZ(values)) for values in (codes, np.asarray(true)))
    return float(np.mean(colour.delta_E(lab, true_lab, method="CIE 2000")))
