"""The path of one frame of a clip: the path of the clip itself, with the number of the frame.

Everything that names, opens or stats a file takes it for the clip; `poise.frames.read` takes it for the frame.
"""

from pathlib import Path
from typing import Any, Literal, NamedTuple


class Codes(NamedTuple):
    """How the codes of a clip become R'G'B', in place of its tags.

    Attributes:
        matrix: BT.601, BT.709 or BT.2020; None for that of the tags.
        range: of the codes.
    """

    matrix: str | None
    range: Literal["full", "narrow"]


class ClipFrame(type(Path())):  # type: ignore[misc]
    """One frame of a clip; two are equal if the path, the number and the reading of codes are.

    Attributes:
        number: counted from 1; 0 for a path that was derived from this one, such as its folder.
        codes: how its codes are read; None for by the tags of the clip.

    Example:
        >>> one, two = ClipFrame.of(Path("quay_04.mov"), 1), ClipFrame.of(Path("quay_04.mov"), 2)
        >>> one == two, one == ClipFrame.of("quay_04.mov", 1), one.name
        (False, True, 'quay_04.mov')
    """

    number = 0
    codes: Codes | None = None

    @classmethod
    def of(cls, path: Path | str, number: int, codes: Codes | None = None) -> "ClipFrame":
        """The frame with a number in a clip."""
        frame = cls(path)
        frame.number, frame.codes = number, codes
        return frame

    def with_segments(self, *segments: Any) -> Path:
        """The type of derived paths (Python 3.12 on)."""
        return Path(*segments)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Path):
            return NotImplemented
        here, there = ((getattr(one, "number", 0), getattr(one, "codes", None)) for one in (self, other))
        return here == there and str(self) == str(other)

    def __hash__(self) -> int:
        return hash((str(self), self.number, self.codes)) if self.number else hash(Path(str(self)))

    def __reduce__(self) -> tuple[Any, ...]:
        return (ClipFrame.of, (str(self), self.number, self.codes)) if self.number else (Path, (str(self),))
