"""A shot: one still, or one numbered sequence of frames, and the names that follow from it."""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple


class Problem(NamedTuple):
    """A path that was passed over, and why, in one line."""

    path: Path
    reason: str


@dataclass(frozen=True)
class Shot:
    """One still, or one numbered sequence.

    Attributes:
        name: the file name; that of a sequence has one # for every digit of the frame number.
        root: the folder that was asked for, or the parent of a file that was.
        files: the pictures, in the order of their frame numbers.
        sequence: whether it is a numbered sequence.
        numbers: the frame numbers of a sequence, increasing; empty for a still.
        sidecars: the folder that holds the sidecars; None when they stand beside the pictures.

    Example:
        >>> Shot("quay_02.tif", Path("day"), (Path("day/quay_02.tif"),), False).sidecar_path.name
        'quay_02.tif.poise.json'
    """

    name: str
    root: Path
    files: tuple[Path, ...]
    sequence: bool
    numbers: tuple[int, ...] = ()
    sidecars: Path | None = None

    @property
    def first(self) -> Path:
        return self.files[0]

    @property
    def sidecar_path(self) -> Path:
        """Beside the picture, or at the picture's place below `root` in the folder of sidecars."""
        folder = self.first.parent
        if self.sidecars is not None:
            folder = self.sidecars / self.relative(folder)
        return folder / f"{self.name}.poise.json"

    @property
    def frame_range(self) -> tuple[int, int] | None:
        """The first and last frame number; None for a still."""
        return (self.numbers[0], self.numbers[-1]) if self.numbers else None

    @property
    def gaps(self) -> tuple[tuple[int, int], ...]:
        """The runs of frame numbers that are missing inside the range, each (first, last)."""
        return tuple((low + 1, high - 1) for low, high in pairwise(self.numbers) if high - low > 1)

    def nearest(self, number: int | None) -> int:
        """The place among `files` of a frame number, or of the nearest to it; the first for None and for a still.

        Example:
            >>> Shot("quay.####.tif", Path("day"), (Path("a"), Path("b")), True, (1001, 1004)).nearest(1003)
            1
        """
        if number is None or not self.numbers:
            return 0
        return min(range(len(self.numbers)), key=lambda place: abs(self.numbers[place] - number))

    def relative(self, file: Path) -> Path:
        """The path of a file or folder of this shot under `root`: where an output stands below its folder."""
        return file.relative_to(self.root)


@dataclass(frozen=True)
class Listing:
    """What a scan found: shots in order, what was passed over with a reason, and folders that were looked through."""

    shots: tuple[Shot, ...]
    problems: tuple[Problem, ...]
    folders: tuple[Path, ...] = ()
