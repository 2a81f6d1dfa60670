"""The picture of a PNG as one zlib stream: filtered here in whole rows, packed by libdeflate.

Source: W3C PNG (Third Edition) 8.1 interlacing (Adam7), 9.2 filter types.
"""

from typing import Any

import imagecodecs
import numpy as np
import numpy.typing as npt

from poise.frames.frame import Frame

Bytes = npt.NDArray[np.uint8]
_LEVEL = 1
_SUB, _UP = 1, 2
_ADAM7 = ((0, 0, 8, 8), (0, 4, 8, 8), (4, 0, 8, 4), (0, 2, 4, 4), (2, 0, 4, 2), (0, 1, 2, 2), (1, 0, 2, 1))
"""Of each pass: first row and column, step down and across."""


def packed(frame: Frame, interlaced: bool = False) -> memoryview:
    """The content of all IDAT chunks."""
    passes = _ADAM7 if interlaced else ((0, 0, 1, 1),)
    parts = [frame.pixels[top::down, left::across] for top, left, down, across in passes]
    filtered = [
        _filtered(np.ascontiguousarray(part, frame.depth.dtype.newbyteorder(">"))) for part in parts if part.size
    ]
    encode: Any = imagecodecs.deflate_encode  # its stub leaves out arrays
    return memoryview(encode(filtered[0] if len(filtered) == 1 else np.concatenate(filtered, axis=None), level=_LEVEL))


def _filtered(pixels: npt.NDArray[Any]) -> Bytes:
    """Rows with one filter for them all, the one that leaves less on a few rows."""
    step = pixels.shape[2] * pixels.dtype.itemsize
    rows = pixels.view(np.uint8).reshape(pixels.shape[0], pixels.shape[1] * step)
    few = slice(None, None, max(1, len(rows) // 64))
    filtered = np.empty((len(rows), rows.shape[1] + 1), np.uint8)
    if _cost(rows[1:][few] - rows[:-1][few]) < _cost(rows[1:, step:][few] - rows[1:, :-step][few]):
        filtered[:, 0] = _UP
        filtered[0, 1:] = rows[0]
        np.subtract(rows[1:], rows[:-1], out=filtered[1:, 1:])
    else:
        filtered[:, 0] = _SUB
        filtered[:, 1 : step + 1] = rows[:, :step]
        np.subtract(rows[:, step:], rows[:, :-step], out=filtered[:, step + 1 :])
    return filtered


def _cost(residue: Bytes) -> float:
    return float(np.abs(residue.view(np.int8).astype(np.int16)).mean()) if residue.size else np.inf
