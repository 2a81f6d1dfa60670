"""Packs the picture of a PNG into one zlib stream with libdeflate, filtered by whole rows; decodes interlaced pictures.

Source: W3C PNG (Third Edition) 8.1 interlacing (Adam7), 9.2 filter types.
"""

import io
import struct
import zlib
from typing import Any

import imagecodecs
import numpy as np
import numpy.typing as npt

from poise.frames.codecs.png.chunks import put, sound, walk
from poise.frames.frame import Frame, Pixels

Bytes = npt.NDArray[np.uint8]
_LEVEL = 1
_SUB, _UP = 1, 2
_ADAM7 = ((0, 0, 8, 8), (0, 4, 8, 8), (4, 0, 8, 4), (0, 2, 4, 4), (2, 0, 4, 2), (0, 1, 2, 2), (1, 0, 2, 1))
"""For each pass, the first row and column and the steps down and across."""


def packed(frame: Frame, interlaced: bool = False) -> memoryview:
    """The content of all IDAT chunks of a picture."""
    passes = _ADAM7 if interlaced else ((0, 0, 1, 1),)
    parts = [frame.pixels[top::down, left::across] for top, left, down, across in passes]
    filtered = [
        _filtered(np.ascontiguousarray(part, frame.depth.dtype.newbyteorder(">"))) for part in parts if part.size
    ]
    encode: Any = imagecodecs.deflate_encode  # its stub leaves out arrays
    return memoryview(encode(filtered[0] if len(filtered) == 1 else np.concatenate(filtered, axis=None), level=_LEVEL))


def deinterlaced(data: bytes, shape: tuple[int, int, int], dtype: npt.DTypeLike) -> Pixels:
    """Decode an interlaced picture, each of its passes as a small picture of its own.

    libpng could decode such a file too, but would print a warning each time.

    Args:
        data: a whole PNG file.
        shape: (height, width, channels).

    Raises:
        ValueError: a chunk of the picture is damaged, or it ends early.
    """
    made = np.empty(shape, dtype)
    passes = [made[top::down, left::across] for top, left, down, across in _ADAM7]
    sizes = [part.shape[0] * (1 + part[:1].nbytes) if part.size else 0 for part in passes]
    listed = [(at, length) for kind, at, length in walk(io.BytesIO(data)) if kind == b"IDAT"]
    if not all(sound(data, *one) for one in listed):
        raise ValueError("a chunk is damaged")
    packed = b"".join(memoryview(data)[at : at + length] for at, length in listed)
    stream = zlib.decompressobj().decompress(packed, sum(sizes))
    if len(stream) < sum(sizes):
        raise ValueError("its picture ends early")
    at = 0
    for part, size in zip(passes, sizes, strict=True):
        if size:
            head = struct.pack(">II", part.shape[1], part.shape[0]) + data[24:28] + b"\0"
            small = io.BytesIO()
            small.write(data[:8])
            content = zlib.compress(stream[at : at + size], 0)
            for kind, body in ((b"IHDR", head), (b"IDAT", content), (b"IEND", b"")):
                put(small, kind, body)
            part[...] = imagecodecs.png_decode(small.getvalue()).reshape(part.shape)
            at += size
    return made


def _filtered(pixels: npt.NDArray[Any]) -> Bytes:
    """Rows under the one filter type that leaves smaller residues in a few of them."""
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
