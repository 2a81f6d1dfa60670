"""Playing the frames of a shot: which of them is due at a time."""

from dataclasses import dataclass
from fractions import Fraction

USUAL = Fraction(25)
"""Frames a second where no header tells."""


@dataclass(frozen=True)
class Playing:
    """Frames that are being played in the time of the shot; those that can't be shown in time are left out.

    Attributes:
        shot: by its place among all shots.
        first: the place of the frame that it began with, shown at `began`.
        began: in seconds, of any clock.
        rate: frames a second.
        at: the place of the frame that was shown last.
        shown: how many were shown.
    """

    shot: int
    first: int
    began: float
    rate: Fraction
    at: int
    shown: int = 1

    def due(self, now: float, last: int) -> int:
        """The place of the frame that is due, `last` at most.

        Example:
            >>> Playing(0, 3, 10.0, Fraction(25), 3).due(10.5, 100)
            15
        """
        return min(self.first + int((now - self.began) * self.rate), last)
