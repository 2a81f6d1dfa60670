"""The course of a sequence: the levels of its channels, frame by frame."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.scopes.readings import Readings, channel_of
from poise.scopes.signal import Picture, split

Levels = npt.NDArray[np.float64]
SERIES = ("luma", "red", "green", "blue")
ENDS = ("black", "middle", "white")


@dataclass(frozen=True)
class Course:
    """The levels of a sequence over its frames.

    Attributes:
        numbers: (frames,), the frame numbers, increasing.
        levels: (frames, 4, 3), black, median and white of luma, red, green and blue in per cent of full signal; NaN for
            a frame that is not known.
    """

    numbers: npt.NDArray[np.int64]
    levels: Levels

    @property
    def known(self) -> npt.NDArray[np.bool_]:
        """(frames,), True for frames that are known."""
        return np.asarray(np.isfinite(self.levels).all(axis=(1, 2)))


def levels_of(readings: Readings) -> Levels:
    """The levels of one frame from its readings, (4, 3), as in `Course`."""
    channels = (readings.luma, readings.red, readings.green, readings.blue)
    return np.array([(c.black, c.median, c.white) for c in channels])


def levels(picture: Picture, maximum: int | None = None, primaries: str = "ITU-R BT.709") -> Levels:
    """The levels of one frame from its pixels, (4, 3), as in `Course`; NaN for a frame without finite pixels.

    Args:
        picture, maximum, primaries: as in `poise.scopes.signal.split`.

    Example:
        >>> levels(np.full((2, 2, 1), 51, np.uint8))[0].round(4).tolist()
        [20.0, 20.0, 20.0]
    """
    channels = map(channel_of, split(picture, maximum, primaries).levels)
    return np.array([(c.black, c.median, c.white) for c in channels])
