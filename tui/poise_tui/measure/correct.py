"""The work code of a proxy or of its sample under a correction, which every view is measured from."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.chain.order import is_neutral
from poise.correction import Correction, Encoding
from poise.delivery.clipping import ClippingLoss, loss_of
from poise.frames.frame import Depth, Pixels
from poise_tui.measure.loaded import Loaded

WorkCode = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Work:
    """A picture in work code.

    Attributes:
        pixels: (height, width, 1 or 3), in codes up to `maximum`; float if that is None.
        primaries: those of the luma weights.
    """

    pixels: Pixels
    maximum: int | None
    primaries: str

    def levels(self, step: int = 1) -> WorkCode:
        """Every `step`-th pixel down and across, float32, 0..1 nominal."""
        return np.asarray(self.pixels[::step, ::step], np.float32) / np.float32(self.maximum or 1)


def loss(source: Pixels, depth: Depth, made: Work, correction: Correction, encoding: Encoding) -> ClippingLoss:
    """What a correction crushes and clips.

    Args:
        source: the pixels that `made` was made from, in codes of `depth`.
    """
    if is_neutral(correction, encoding):
        return ClippingLoss()
    return loss_of(source, made.pixels, encoding.range, depth)


def work(loaded: Loaded, correction: Correction, encoding: Encoding, rough: bool) -> Work:
    """The corrected proxy, or for `rough` its corrected sample.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    return corrected(*loaded.pixels(rough), correction, encoding)


def corrected(pixels: Pixels, depth: Depth, correction: Correction, encoding: Encoding) -> Work:
    """Corrects pixels sampled from a picture.

    Args:
        pixels: (height, width, 1 or 3) evenly sampled, in codes of `depth`.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    from poise.engine import COARSE, compile_engine  # not before the first paint

    made = compile_engine(correction, encoding, depth, output="work", entries=COARSE).apply(pixels)
    return Work(made, None if made.dtype.kind == "f" else depth.maximum, encoding.work_primaries)
