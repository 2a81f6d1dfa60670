"""Splits a picture into levels of luma, red, green and blue, the input of every scope and reading."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.colour import luma as y

Picture = npt.NDArray[Any]
_STRIP = 1 << 17
"""Pixels of a strip."""
Levels = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Signal:
    """The levels of the finite pixels of a picture.

    Attributes:
        levels: (4, pixels) float32 code values of luma, red, green and blue, 0..1 nominal, row by row.
        width, height: the size of the picture.
        weights: the luma weights.
        kept: (height * width,), True for finite pixels; None if all are.
    """

    levels: Levels
    width: int
    height: int
    weights: y.Weights = y.BT709
    kept: npt.NDArray[np.bool_] | None = None

    @property
    def invalid(self) -> int:
        """The number of pixels left out because a channel is NaN or infinite."""
        return self.width * self.height - int(self.levels.shape[1])

    def differences(self) -> tuple[npt.NDArray[Any], npt.NDArray[Any]]:
        """Cb and Cr of every pixel, (pixels,) float32, -0.5..0.5 nominal."""
        return y.differences(self.levels[0], self.levels[1], self.levels[3], self.weights)

    def columns(self, columns: int) -> npt.NDArray[np.int32]:
        """The grid column of every pixel, where `columns` columns share the picture's width evenly."""
        row = (np.arange(self.width) * columns // self.width).astype(np.int32)
        whole = np.tile(row, self.height)
        return whole if self.kept is None else whole[self.kept]


def split(picture: Picture | Signal, maximum: int | None = None, primaries: str = "ITU-R BT.709") -> Signal:
    """Split a picture into its levels; a `Signal` is returned as it is, so that scopes can share one.

    Args:
        picture: (height, width, 1 or 3) work code: float (0..1 nominal), uint8 or uint16; one channel is grey.
        maximum: the code of full scale of an integer picture; None for the largest of its type.
        primaries: by the name that colour-science registers; decides the luma weights.

    Raises:
        ValueError: the array has the wrong shape or type.

    Example:
        >>> split(np.full((1, 1, 1), 255, np.uint8)).levels.tolist()
        [[1.0], [1.0], [1.0], [1.0]]
    """
    if isinstance(picture, Signal):
        return picture
    if picture.ndim != 3 or picture.shape[2] not in (1, 3):
        raise ValueError(f"a picture is (height, width, 1 or 3), not {picture.shape}")
    height, width, channels = picture.shape
    weights = y.weights(primaries)
    levels = np.empty((4, height * width), np.float32)
    with np.errstate(over="ignore", invalid="ignore"):
        levels[1:] = picture.reshape(-1, channels).T
        if picture.dtype.kind != "f":
            levels[1:] /= np.float32(full_scale(picture, maximum))
        levels[0] = y.luma(levels[1], levels[2], levels[3], weights) if channels == 3 else levels[1]
    return _finite(Signal(levels, width, height, weights))


def strips(picture: Picture) -> Iterator[Picture]:
    """The picture in strips of rows from top to bottom, each small enough for the processor's cache."""
    height, width = picture.shape[:2]
    step = max(_STRIP // width, 1)
    for top in range(0, height, step):
        yield picture[top : top + step]


def full_scale(picture: Picture, maximum: int | None) -> int:
    """The code of full scale: 1 for float, else `maximum`, or the largest of the type if None.

    Raises:
        ValueError: the array has the wrong type.
    """
    if picture.dtype.kind == "f":
        return 1
    if picture.dtype not in (np.uint8, np.uint16):
        raise ValueError(f"a picture is float, uint8 or uint16, not {picture.dtype}")
    return maximum or int(np.iinfo(picture.dtype).max)


def _finite(signal: Signal) -> Signal:
    """The signal without its NaN and infinite pixels; luma is finite only if all channels are."""
    kept = np.isfinite(signal.levels[0])
    return signal if kept.all() else replace(signal, levels=signal.levels[:, kept], kept=kept)
