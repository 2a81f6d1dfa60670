"""The path of one frame of a clip: the path of the clip itself, with the number of the frame.

Everything that names, opens or stats a file takes it for the clip; `poise.frames.read` takes it for the frame.
"""

from pathlib import Path
from typing import Any


class ClipFrame(type(Path())):  # type: ignore[misc]
    """One frame of a clip; two are equal if both the path and the number are.

    Attributes:
        number: counted from 1; 0 for a path that was derived from this one, such as its folder.

    Example:
        >>> one, two = ClipFrame.of(Path("quay_04.mov"), 1), ClipFrame.of(Path("quay_04.mov"), 2)
        >>> one == two, one == ClipFrame.of("quay_04.mov", 1), one.name
        (False, True, 'quay_04.mov')
    """

    number = 0

    @classmethod
    def of(cls, path: Path | str, number: int) -> "ClipFrame":
        """The frame with a number in a clip."""
        frame = cls(path)
        frame.number = number
        return frame

    def with_segments(self, *segments: Any) -> Path:
        """The type of derived paths (Python 3.12 on)."""
        return Path(*segments)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Path):
            return NotImplemented
        return self.number == getattr(other, "number", 0) and str(self) == str(other)

    def __hash__(self) -> int:
        return hash((str(self), self.number)) if self.number else hash(Path(str(self)))

    def __reduce__(self) -> tuple[Any, ...]:
        return (ClipFrame.of, (str(self), self.number)) if self.number else (Path, (str(self),))
