"""A shot: one still, one numbered sequence of frames, or one clip, with the path of its sidecar."""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from poise.frames.clip_frame import ClipFrame


class Problem(NamedTuple):
    """A path that was passed over, and the reason in one line."""

    path: Path
    reason: str


@dataclass(frozen=True)
class Shot:
    """One still, one numbered sequence, or one clip.

    Attributes:
        name: the file name; for a sequence, with one # for each digit of the frame number.
        root: the folder that was scanned, or the parent of a file that was named.
        files: the pictures, in the order of their frame numbers; of a clip, each a `ClipFrame`.
        sequence: whether it has frames: a numbered sequence, or a clip.
        numbers: the frame numbers, increasing; empty for a still.
        sidecars: the folder of the sidecars; None if they are beside the pictures.

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
    def clip(self) -> Path | None:
        """The movie file; None for pictures, and for a movie that can't be opened."""
        return Path(str(self.first)) if isinstance(self.first, ClipFrame) else None

    @property
    def sidecar_path(self) -> Path:
        """The sidecar, beside the picture, or in the folder of sidecars at the picture's path below `root`."""
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
        """The missing ranges of frame numbers, each (first, last)."""
        return tuple((low + 1, high - 1) for low, high in pairwise(self.numbers) if high - low > 1)

    def nearest(self, number: int | None) -> int:
        """The index in `files` of the frame number nearest to one; 0 for None and for a still.

        Example:
            >>> Shot("quay.####.tif", Path("day"), (Path("a"), Path("b")), True, (1001, 1004)).nearest(1003)
            1
        """
        if number is None or not self.numbers:
            return 0
        return min(range(len(self.numbers)), key=lambda place: abs(self.numbers[place] - number))

    def number(self, place: int) -> int | None:
        """The frame number of the file at an index; None for a still."""
        return self.numbers[place] if self.numbers else None

    def relative(self, file: Path) -> Path:
        """The path of a file or folder of this shot below `root`."""
        plain = Path(str(file)) if isinstance(file, ClipFrame) else file
        return plain.relative_to(self.root)

    def output(self, file: Path) -> Path:
        """The path of a file's output below the folder for outputs, except for its extension.

        It is that of the file below `root`; a frame of a clip gets its number.

        Example:
            >>> clip = Path("day/quay_04.mov")
            >>> Shot("quay_04.mov", Path("day"), (), True).output(ClipFrame.of(clip, 12)).name
            'quay_04.0012.mov'
        """
        place = self.relative(file)
        return place.with_stem(f"{place.stem}.{file.number:04}") if isinstance(file, ClipFrame) else place


@dataclass(frozen=True)
class Listing:
    """The result of a scan: shots in order, problems, and the folders that were scanned."""

    shots: tuple[Shot, ...]
    problems: tuple[Problem, ...]
    folders: tuple[Path, ...] = ()
