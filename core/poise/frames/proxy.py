"""Proxies: small pictures made by leaving out pixels, since averaging would hide clipping."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from poise.frames.frame import Pixels

SAMPLED = 180
"""The fewest rows of a sample, unless the proxy has fewer."""


def sample_step(rows: int) -> int:
    """The step, across and down, between the pixels of a proxy that are in its sample.

    Args:
        rows: the rows of the proxy.

    Example:
        >>> sample_step(540)
        3
    """
    return max(1, rows // SAMPLED)


def proxy(pixels: "Pixels", width: int = 960, height: int = 540) -> "Pixels":
    """Every n-th pixel of every n-th row, with the smallest n that fits into a size; a contiguous copy.

    Args:
        pixels: (height, width) or (height, width, channels), any type.
        width, height: the largest size of the result.

    Example:
        >>> import numpy
        >>> proxy(numpy.zeros((2160, 3840, 3), numpy.uint16)).shape
        (540, 960, 3)
    """
    step = max(1, -(-pixels.shape[1] // width), -(-pixels.shape[0] // height))
    return pixels[::step, ::step].copy(order="C")
