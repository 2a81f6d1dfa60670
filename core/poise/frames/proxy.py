"""Proxies: a picture made small by leaving pixels out, never by averaging, which would hide clipping."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from poise.frames.frame import Pixels

SAMPLED = 180
"""Rows of a sample, at least, where the proxy has as many."""


def sample_step(rows: int) -> int:
    """Every so many pixels of a proxy, across and down, make its sample.

    Example:
        >>> sample_step(540)
        3
    """
    return max(1, rows // SAMPLED)


def proxy(pixels: "Pixels", width: int = 960, height: int = 540) -> "Pixels":
    """Every n-th pixel of every n-th row, with the smallest n that fits the frame.

    Args:
        pixels: (height, width) or (height, width, channels), any type.
        width: the most columns of the result.
        height: the most rows of the result.

    Returns:
        A contiguous copy of the same type; the aspect is kept to within one pixel, and a small picture keeps its size.

    Example:
        >>> import numpy
        >>> proxy(numpy.zeros((2160, 3840, 3), numpy.uint16)).shape
        (540, 960, 3)
    """
    step = max(1, -(-pixels.shape[1] // width), -(-pixels.shape[0] // height))
    return pixels[::step, ::step].copy(order="C")
