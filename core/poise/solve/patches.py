"""The patches of a chart in a picture: from its four corners to the pixels in the middle of each patch."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour.chart import COLUMNS, ROWS
from poise.errors import PoiseError
from poise.frames.frame import Pixels

Array = npt.NDArray[np.float64]
Corners = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]
"""Outer corners of the four corner patches, going round, each x and y as a share of width and height."""

MIDDLE = 0.4
"""Share of a patch's side that is read, about its middle: corners may be set a little off, and patches have frames."""
POINTS = 16
"""Places along a side where a patch is read at most."""
LEAST = 6.0
"""Pixels along a patch's side; of less, the middle is a handful of pixels that their neighbours have leaked into."""


@dataclass(frozen=True, eq=False)
class Patches:
    """What a picture shows in the middle of each patch.

    Attributes:
        corners: of the first patch, of the last in its row, and on round.
        median: (4, 6, 3) in file codes.
        clipped: (4, 6) share of the pixels at `maximum` or above in any channel.
    """

    corners: Corners
    median: Array
    clipped: Array


def read_patches(pixels: Pixels, corners: Corners, maximum: float | None) -> Patches:
    """Reads 24 patches; the first corner is that of the first patch, the second ends its row.

    Args:
        pixels: (height, width, 3).
        maximum: the code at which a channel is clipped; None for none.

    Raises:
        PoiseError: the corners don't make a chart inside the picture, or it is too small.

    Example:
        read_patches(frame.colour, ((0.2, 0.2), (0.8, 0.2), (0.8, 0.6), (0.2, 0.6)), 255).median.shape
    """
    import cv2

    height, width = pixels.shape[:2]
    corner = np.array(corners, np.float64) * [width, height]
    _sound(np.array(corners, np.float64), corner)
    unit = np.array([[0, 0], [COLUMNS, 0], [COLUMNS, ROWS], [0, ROWS]], np.float32)
    across = cv2.getPerspectiveTransform(unit, corner.astype(np.float32))
    steps = 0.5 + MIDDLE * np.linspace(-0.5, 0.5, POINTS)
    down, right = np.arange(ROWS)[:, None] + steps, np.arange(COLUMNS)[:, None] + steps
    y, x = np.broadcast_arrays(down[:, None, :, None], right[None, :, None, :])
    at = np.stack([x, y, np.ones_like(x)], axis=-1) @ across.T
    places = np.clip((at[..., :2] / at[..., 2:]).astype(int), 0, [width - 1, height - 1])
    read = pixels[places[..., 1], places[..., 0]].astype(np.float64).reshape(ROWS, COLUMNS, -1, 3)
    whole = np.isfinite(read).all(axis=-1)
    if not whole.any(axis=-1).all():
        raise PoiseError("a patch of the chart holds no valid pixels: take another frame")
    median = np.nanmedian(np.where(whole[..., None], read, np.nan), axis=2)
    clipped = np.zeros((ROWS, COLUMNS)) if maximum is None else (read >= maximum).any(axis=-1).mean(axis=-1)
    return Patches(corners, median, clipped)


def ways(pixels: Pixels, corners: Corners, maximum: float | None) -> Iterator[Patches]:
    """The patches as they lie if the first corner is as given, or any other, and they go round either way.

    Args and errors as `read_patches`.
    """
    for start in (0, 1):  # its long side along the first side that was given, or along the second
        read = read_patches(pixels, corners[start:] + corners[:start], maximum)  # type: ignore[arg-type]
        a, b, c, d = read.corners
        yield read
        yield Patches((c, d, a, b), read.median[::-1, ::-1], read.clipped[::-1, ::-1])
        yield Patches((d, c, b, a), read.median[::-1], read.clipped[::-1])
        yield Patches((b, a, d, c), read.median[:, ::-1], read.clipped[:, ::-1])


def _sound(shares: Array, corner: Array) -> None:
    if not np.isfinite(shares).all() or (shares < 0).any() or (shares > 1).any():
        raise PoiseError("the corners of the chart must lie inside the picture: shares from 0 to 1")
    sides = np.roll(corner, -1, axis=0) - corner
    turns = sides[:, 0] * np.roll(sides[:, 1], -1) - sides[:, 1] * np.roll(sides[:, 0], -1)
    lengths = np.linalg.norm(sides, axis=1)
    if not (np.all(turns > 0) or np.all(turns < 0)):
        raise PoiseError("the corners of the chart cross or lie in a line; give them going round")
    if min(lengths.min() / ROWS, lengths.max() / COLUMNS) < LEAST:
        raise PoiseError(f"the chart is too small: a patch needs at least {LEAST:g} pixels along its side")
