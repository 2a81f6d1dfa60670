"""Finds the shots in folders and among files, in natural order, by names alone.

Only clips are opened, to count their frames. A sequence is two or more files whose names differ only in a frame number
of at least four digits, set off by `.` or `_`; a movie file is a clip; every other file is a still.
"""

import os
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from poise.errors import UsageError, one_line
from poise.frames.clip_frame import ClipFrame
from poise.frames.codecs import EXTENSIONS, FORMATS, by_extension
from poise.frames.natural import natural
from poise.frames.shots import Listing, Problem, Shot
from poise.frames.store import frames_in

MANIFEST = "poise-manifest.jsonl"
"""The file that marks a folder of outputs, which is passed over unless it is named itself."""

_NUMBER = re.compile(r"(?:(?<=[._])|\A)[0-9]{4,}(?=[._])")


def scan(paths: Iterable[Path | str], stills: bool = False, sidecars: Path | None = None) -> Listing:
    """Find the shots in folders, with their subfolders, and among files.

    In a folder, hidden files, sidecars, temporary files, folders of outputs and files of other formats are passed over
    without a message. Each file and each folder counts once, so links can't loop.

    Args:
        paths: folders and files.
        stills: treat every file as a shot of its own.
        sidecars: the folder of the sidecars, which mirrors `paths`; None if they are beside the pictures.

    Returns:
        Shots in the order of `paths`, in natural order within each; and problems: a missing path, a folder that can't
        be read or has no pictures, a named file that is not a picture.

    Raises:
        UsageError: two shots would share a sidecar in `sidecars`.

    Example:
        >>> scan(["no such folder"]).problems[0].reason
        'no such file or folder; check the name'
    """
    walk = _Walk(stills, sidecars)
    asked = [Path(path) for path in paths]
    named: dict[Path, list[str]] = defaultdict(list)
    for path in asked:
        if not os.path.isdir(path):
            named[path.parent].append(path.name)
    for path in asked:
        if os.path.isdir(path):
            walk.root(path)
        elif path.parent in named:
            walk.named(path.parent, named.pop(path.parent))
    if sidecars is not None:
        _check_sidecars(walk.shots)
    return Listing(tuple(walk.shots), tuple(walk.problems), tuple(walk.folders))


class _Walk:
    """The state of one scan."""

    def __init__(self, stills: bool, sidecars: Path | None) -> None:
        self.stills = stills
        self.sidecars = sidecars
        self.shots: list[Shot] = []
        self.problems: list[Problem] = []
        self.folders: list[Path] = []
        self._folders: set[str] = set()
        self._files: set[str] = set()

    def root(self, folder: Path) -> None:
        real = os.path.realpath(folder)
        known, before = real in self._folders, len(self.shots) + len(self.problems)
        below = [(folder, real)]
        while below:  # not recursive, as a tree may be deeper than the stack
            below += reversed(self._folder(folder, *below.pop()))
        if not known and len(self.shots) + len(self.problems) == before:
            endings = " ".join(kind.extensions[0] for kind in FORMATS.values())
            self.problems.append(Problem(folder, f"no pictures in this folder; poise reads {endings}"))

    def named(self, folder: Path, names: list[str]) -> None:
        """Add files that the caller named; each must be a picture."""
        good = []
        for name in names:
            path = folder / name
            if not os.path.lexists(path):
                self.problems.append(Problem(path, "no such file or folder; check the name"))
            elif not os.path.isfile(path):
                self.problems.append(Problem(path, _no_file(path)))
            elif path.suffix.lower() not in EXTENSIONS:
                ending = one_line(path.suffix) or "none"
                self.problems.append(Problem(path, f"poise reads no pictures with this ending ({ending})"))
            else:
                good.append(name)
        self._add(folder, folder, good)

    def _folder(self, root: Path, folder: Path, real: str) -> list[tuple[Path, str]]:
        """Add the pictures of one folder; returns its subfolders with their real paths, in order."""
        if real in self._folders:
            return []
        self._folders.add(real)
        names: list[str] = []
        below: dict[str, str] = {}
        try:
            with os.scandir(folder) as entries:
                for entry in entries:
                    name = entry.name
                    if name == MANIFEST and folder != root:
                        return []
                    if name.startswith("."):
                        continue
                    picture = os.path.splitext(name)[1].lower() in EXTENSIONS
                    if picture and _is(entry.is_file):
                        names.append(name)
                    elif _is(entry.is_dir):
                        below[name] = os.path.realpath(folder / name) if entry.is_symlink() else f"{real}/{name}"
                    elif picture:
                        self.problems.append(Problem(folder / name, _no_file(folder / name)))
        except OSError as fault:
            self.problems.append(Problem(folder, f"the folder can't be read: {fault.strerror or fault}"))
        self.folders.append(folder)
        self._add(root, folder, names, real)
        return [(folder / name, below[name]) for name in sorted(below, key=natural)]

    def _add(self, root: Path, folder: Path, names: list[str], real: str | None = None) -> None:
        real = real or os.path.realpath(folder)
        fresh = []
        for name in names:
            key = f"{real}/{name}"
            if key not in self._files:
                self._files.add(key)
                fresh.append(name)
        runs = [] if self.stills else list(_sequences(fresh))
        runs = [(title, run) for title, run in runs if by_extension(title) is not FORMATS["clip"]]
        taken = {name for _, run in runs for name in run.values()}
        single = [name for name in fresh if name not in taken]
        found = [(name, self._single(root, folder / name)) for name in single]
        for title, run in runs:
            numbers = sorted(run)
            files = tuple(folder / run[number] for number in numbers)
            found.append((run[numbers[0]], Shot(title, root, files, True, tuple(numbers), self.sidecars)))
        self.shots += [shot for _, shot in sorted(found, key=lambda pair: natural(pair[0]))]

    def _single(self, root: Path, path: Path) -> Shot:
        """A still, or a clip; one that can't be opened is a shot that can't be read."""
        numbers = tuple(range(1, frames_in(path) + 1))
        files = tuple(ClipFrame.of(path, number) for number in numbers)
        return Shot(path.name, root, files or (path,), bool(numbers), numbers, self.sidecars)


def _check_sidecars(shots: Iterable[Shot]) -> None:
    """Raises UsageError if two shots share a sidecar."""
    known: dict[Path, Shot] = {}
    for shot in shots:
        other = known.setdefault(shot.sidecar_path, shot)
        if other is not shot:
            both = " and ".join(one_line(one.first.parent / one.name) for one in (other, shot))
            raise UsageError(f"{both} would share {one_line(shot.sidecar_path)}; use a folder of sidecars for each")


def _sequences(names: list[str]) -> Iterator[tuple[str, dict[int, str]]]:
    """Each sequence among names: its pattern, and {frame number: name}; the last number of a name is tried first."""
    left = {name: [match.span() for match in _NUMBER.finditer(name)] for name in names}
    while left := {name: spans for name, spans in left.items() if spans}:
        runs: dict[str, dict[int, str]] = defaultdict(dict)
        for name, spans in left.items():
            start, stop = spans.pop()
            runs[name[:start] + "#" * (stop - start) + name[stop:]][int(name[start:stop])] = name
        for title, run in runs.items():
            if len(run) > 1:
                yield title, run
                for name in run.values():
                    del left[name]


def _is(kind: Callable[[], bool]) -> bool:
    """Whether an entry is of a kind; a circular link is of no kind, and must not end the scan."""
    try:
        return kind()
    except OSError:
        return False


def _no_file(path: Path) -> str:
    if path.is_symlink() and not path.exists():
        return "the link points to nothing; mend or remove it"
    return "this is not a regular file, so it can't hold a picture"
