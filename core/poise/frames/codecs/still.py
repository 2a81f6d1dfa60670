"""Stills that poise reads and does not write, decoded by imageio with Pillow."""

from pathlib import Path

import imageio.v3 as iio
import numpy as np
from PIL import Image

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.shared import Probe
from poise.frames.frame import Pixels

Image.MAX_IMAGE_PIXELS = limits.MOST_PIXELS  # every size was checked; Pillow would warn from a third of it


def decoded(path: Path, header: Probe) -> Pixels:
    """The first picture of a file, (height, width, channels), uint8.

    It is handed over as an open file: imageio takes some names for addresses.

    Raises:
        FrameError: it isn't what its header says.
    """
    with path.open("rb") as file, iio.imopen(file, "r", plugin="pillow") as picture:
        pixels = np.ascontiguousarray(picture.read(index=0))
    if pixels.dtype != np.uint8 or pixels.size != header.height * header.width * header.channels:
        raise FrameError(path, "its header and its picture differ; it is damaged, copy it again")
    return pixels.reshape(header.height, header.width, header.channels)
