"""The patch under the cursor: a square cut out of a picture."""

from typing import Any

import numpy as np
import numpy.typing as npt

Pixels = npt.NDArray[Any]
Place = tuple[float, float]


def patch(pixels: Pixels, place: Place, share: float) -> Pixels:
    """The square around a place, cut at the edges of the picture; at least one pixel.

    Args:
        pixels: (height, width, ...).
        place: 0..1 from left to right and from top to bottom; outside values count as the nearest edge.
        share: the square's side, as a share of picture height.

    Returns:
        (rows, columns, ...), a view.

    Example:
        >>> import numpy as np
        >>> patch(np.arange(100).reshape(10, 10), (0.55, 0.0), 0.3).tolist()
        [[4, 5, 6], [14, 15, 16]]
    """
    height, width = pixels.shape[:2]
    half = int(share * height / 2)
    column, row = (min(max(int(at * size), 0), size - 1) for at, size in zip(place, (width, height), strict=True))
    return pixels[max(row - half, 0) : row + half + 1, max(column - half, 0) : column + half + 1]


def mean_of(pixels: Pixels, place: Place, share: float) -> Pixels:
    """The mean colour of a patch, (channels,), without non-finite pixels; NaN if none is left."""
    square = patch(pixels, place, share).reshape(-1, pixels.shape[2])
    kept = square[np.isfinite(square).all(axis=1)]
    return np.asarray(kept.mean(axis=0)) if len(kept) else np.full(pixels.shape[2], np.nan, np.float32)
