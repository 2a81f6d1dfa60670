"""The frames of a sequence as far as they were read: a sample of each."""

from dataclasses import dataclass

from poise.frames import Shot
from poise_tui.measure.sample import Sample


@dataclass(frozen=True, eq=False)
class Book:
    """The samples of a sequence so far.

    Attributes:
        places: the indexes of the shot's files that are read, or will be, in order.
        samples: by index; those of frames that can't be read have no pixels.
    """

    shot: Shot
    places: tuple[int, ...]
    samples: dict[int, Sample]

    @property
    def whole(self) -> bool:
        """Whether nothing is left to be read."""
        return len(self.samples) == len(self.places)
