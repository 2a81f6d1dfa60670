"""Pictures for a sheet: thumbnails of frames, and count grids drawn as traces, encoded small."""

import base64
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from poise.frames.frame import Pixels
from poise.scopes import density

WIDE, HIGH = 384, 216
"""Pixels that a thumbnail has at most."""
QUALITY = 78
"""Of a thumbnail in WebP; it is looked at, never measured."""
STEPS = 6
"""Densities of a trace: with ten a picture takes half as much again."""
FAINTEST = 0.25
"""Opacity of what was counted least; what was counted most is opaque."""
GAP = 6
"""Columns between red, green and blue."""
NARROW = 100
"""Columns that each of them has at least."""
LUMA, RED, GREEN, BLUE = (0xF2, 0xF5, 0xF5), (0xFF, 0x94, 0x89), (0x93, 0xEE, 0x9F), (0x9D, 0xC0, 0xFF)
"""On a dark ground; the sheet darkens them on a light one."""

Counts = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Picture:
    """An encoded picture, WebP."""

    data: bytes
    width: int
    height: int

    @property
    def uri(self) -> str:
        """As a data: URI."""
        return "data:image/webp;base64," + base64.b64encode(self.data).decode("ascii")


def small(colour: Pixels) -> Pixels:
    """A frame made small enough for a thumbnail, by averaging; its type stays.

    For recognising a shot only: averaging hides clipping, so nothing is ever measured on it.

    Args:
        colour: (height, width, 1 or 3).

    Example:
        >>> small(np.zeros((2160, 3840, 3), np.uint16)).shape
        (216, 384, 3)
    """
    height, width = colour.shape[:2]
    scale = min(WIDE / width, HIGH / height, 1.0)
    if scale == 1:
        return colour.copy()
    size = max(round(width * scale), 1), max(round(height * scale), 1)
    source = colour.astype(np.float32) if colour.dtype == np.float16 else np.ascontiguousarray(colour)
    result = cv2.resize(source, size, interpolation=cv2.INTER_AREA).reshape(size[1], size[0], -1)
    return result.astype(colour.dtype)


def thumbnail(levels: npt.NDArray[Any]) -> Picture:
    """A small picture, encoded.

    Args:
        levels: (height, width, 1 or 3) 0..1 nominal, encoded for display; what lies outside is held to it, what is no
            number is black.
    """
    codes = np.rint(np.clip(np.nan_to_num(levels, nan=0.0, posinf=1.0, neginf=0.0), 0, 1) * 255).astype(np.uint8)
    return _webp(np.ascontiguousarray(np.broadcast_to(codes, (*codes.shape[:2], 3))), quality=QUALITY)


def waveform_picture(counts: Counts) -> Picture:
    """A waveform, (rows, columns), a pixel a cell; clear where nothing was counted."""
    return _webp(_inked(counts, LUMA), lossless=True)


def parade_picture(counts: Counts) -> Picture:
    """A parade, (3, rows, columns): red, green and blue from left to right, with GAP clear columns between them.

    Few columns are drawn several times as wide, so that the gap stays narrow beside them.
    """
    counts = np.repeat(counts, -(-NARROW // counts.shape[2]), axis=2)
    inked = [_inked(grid, ink) for grid, ink in zip(counts, (RED, GREEN, BLUE), strict=True)]
    gap = np.zeros((counts.shape[1], GAP, 4), np.uint8)
    return _webp(np.concatenate([inked[0], gap, inked[1], gap, inked[2]], axis=1), lossless=True)


def opacity(counts: Counts) -> npt.NDArray[np.uint8]:
    """How opaque a trace is, 0..255: 0 where nothing was counted.

    Example:
        >>> opacity(np.array([[0, 1, 10**6]])).tolist()
        [[0, 64, 255]]
    """
    ramp = np.rint(np.linspace(255 * FAINTEST, 255, STEPS)).astype(np.uint8)
    return np.where(counts > 0, ramp[density(counts, STEPS)], 0).astype(np.uint8)


def _inked(counts: Counts, ink: tuple[int, int, int]) -> npt.NDArray[np.uint8]:
    alpha = opacity(counts)
    return np.concatenate(
        [np.where(alpha[..., None] > 0, np.array(ink, np.uint8), np.uint8(0)), alpha[..., None]], axis=-1
    )


def _webp(pixels: npt.NDArray[np.uint8], quality: int = 75, lossless: bool = False) -> Picture:
    from PIL import Image

    into = BytesIO()
    Image.fromarray(pixels).save(into, "WEBP", quality=quality, lossless=lossless, method=4)
    return Picture(into.getvalue(), pixels.shape[1], pixels.shape[0])
