"""What is known of the frames of a sequence: a sample of each that was read."""

from dataclasses import dataclass

from poise.frames import Shot
from poise_tui.measure.sample import Sample


@dataclass(frozen=True, eq=False)
class Book:
    """What is known of a sequence so far.

    Attributes:
        places: of the frames that are read, or will be, among those of the shot; in order.
        sketches: by place; those of frames that can't be read have no pixels.
    """

    shot: Shot
    places: tuple[int, ...]
    sketches: dict[int, Sample]

    @property
    def whole(self) -> bool:
        """Whether nothing is left to be read."""
        return len(self.sketches) == len(self.places)
