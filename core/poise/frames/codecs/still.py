"""Decodes formats that poise only reads, by imageio with Pillow."""

from pathlib import Path

import imageio.v3 as iio
import numpy as np
from PIL import Image

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.shared import Probe
from poise.frames.frame import Pixels

Image.MAX_IMAGE_PIXELS = limits.MOST_PIXELS  # sizes are already checked; by default Pillow warns at a third of this


def decoded(path: Path, header: Probe) -> Pixels:
    """The first picture of a file, (height, width, channels), uint8.

    Raises:
        FrameError: the picture differs from its header.
    """
    # passed as an open file, since imageio takes some names for URLs
    with path.open("rb") as file, iio.imopen(file, "r", plugin="pillow") as picture:
        pixels = np.ascontiguousarray(picture.read(index=0))
    if pixels.dtype != np.uint8 or pixels.size != header.height * header.width * header.channels:
        raise FrameError(path, "its header and its picture differ; it is damaged, copy it again")
    return pixels.reshape(header.height, header.width, header.channels)
