"""Pictures of the sheet: thumbnails of frames, and count grids drawn as traces, encoded as WebP."""

import base64
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from poise.frames.frame import Pixels
from poise.scopes import density

STEPS = 6
"""Densities of a trace; ten would make the picture half as large again."""
FAINTEST = 0.25
"""Opacity of the smallest count; the largest is opaque."""
GAP = 6
"""Columns between red, green and blue."""
NARROW = 100
"""The smallest number of columns for each channel of a parade."""
LUMA, RED, GREEN, BLUE = (0xF2, 0xF5, 0xF5), (0xFF, 0x94, 0x89), (0x93, 0xEE, 0x9F), (0x9D, 0xC0, 0xFF)
"""Inks on a dark background; the sheet darkens them on a light one."""

Counts = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Size:
    """How large the pictures of a sheet are.

    Attributes:
        wide, high: the largest size of a thumbnail in pixels.
        quality: of a thumbnail, as WebP has it; it is for viewing, never measured.
        rows: of a trace.
        columns, each: columns of a waveform, and of each channel of a parade.
    """

    wide: int
    high: int
    quality: int
    rows: int
    columns: int
    each: int


USUAL, SMALL = Size(384, 216, 78, 165, 224, 112), Size(160, 90, 60, 55, 75, 50)
"""Three rows for two per cent of signal; for a reel of more than `MANY` shots one, so that 2,000 take some 40 MB."""
MANY = 500


def size_for(shots: int) -> Size:
    """The size of the pictures for a number of shots.

    Example:
        >>> size_for(12).rows, size_for(2000).rows
        (165, 55)
    """
    return SMALL if shots > MANY else USUAL


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


def small(colour: Pixels, to: Size = USUAL) -> Pixels:
    """Reduce a frame to the size of a thumbnail by averaging; its type stays the same.

    For recognising a shot only: averaging hides clipping, so it must not be measured.

    Args:
        colour: (height, width, 1 or 3).

    Example:
        >>> small(np.zeros((2160, 3840, 3), np.uint16)).shape
        (216, 384, 3)
    """
    height, width = colour.shape[:2]
    scale = min(to.wide / width, to.high / height, 1.0)
    if scale == 1:
        return colour.copy()
    size = max(round(width * scale), 1), max(round(height * scale), 1)
    source = colour.astype(np.float32) if colour.dtype == np.float16 else np.ascontiguousarray(colour)
    result = cv2.resize(source, size, interpolation=cv2.INTER_AREA).reshape(size[1], size[0], -1)
    return result.astype(colour.dtype)


def thumbnail(levels: npt.NDArray[Any], quality: int = USUAL.quality) -> Picture:
    """Encode a thumbnail.

    Args:
        levels: (height, width, 1 or 3), nominally 0..1, encoded for display; clipped to that range, NaN becomes black.
    """
    codes = np.rint(np.clip(np.nan_to_num(levels, nan=0.0, posinf=1.0, neginf=0.0), 0, 1) * 255).astype(np.uint8)
    return _webp(np.ascontiguousarray(np.broadcast_to(codes, (*codes.shape[:2], 3))), quality=quality)


def waveform_picture(counts: Counts) -> Picture:
    """Encode a waveform, (rows, columns), one pixel for each cell; transparent where the count is 0."""
    return _webp(_inked(counts, LUMA), lossless=True)


def parade_picture(counts: Counts) -> Picture:
    """Encode a parade, (3, rows, columns): red, green and blue from left to right, GAP transparent columns apart.

    If there are few columns, each is drawn several pixels wide, so that the gap stays relatively narrow.
    """
    counts = np.repeat(counts, -(-NARROW // counts.shape[2]), axis=2)
    inked = [_inked(grid, ink) for grid, ink in zip(counts, (RED, GREEN, BLUE), strict=True)]
    gap = np.zeros((counts.shape[1], GAP, 4), np.uint8)
    return _webp(np.concatenate([inked[0], gap, inked[1], gap, inked[2]], axis=1), lossless=True)


def opacity(counts: Counts) -> npt.NDArray[np.uint8]:
    """The opacity of a trace, 0..255; 0 where the count is 0.

    Example:
        >>> opacity(np.array([[0, 1, 10**6, 10**6, 10**7]])).tolist()
        [[0, 64, 102, 102, 255]]
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
