"""What a new scan changes for a session: new shots, frames that came or went, and shots that are gone.

A known shot keeps its index, and its files as far as they still exist; no shot is ever removed.
"""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from poise.frames import Shot


@dataclass(frozen=True)
class FolderChanges:
    """The difference between what was known and a new scan.

    Attributes:
        came: new shots, in the order of the scan.
        changed: known shots with other files, or that became a sequence, by index.
        gone: indexes of known shots whose files are all gone.
        back: indexes of shots that were gone and exist again.
    """

    came: tuple[Shot, ...] = ()
    changed: dict[int, Shot] = field(default_factory=dict)
    gone: tuple[int, ...] = ()
    back: tuple[int, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.came or self.changed or self.gone or self.back)


def folder_changes(
    known: Sequence[Shot], gone: Container[int], found: Iterable[Shot], whole: Container[Path]
) -> FolderChanges:
    """Compares the known shots with those of a new scan.

    Args:
        known: shots by index.
        gone: indexes of known shots that were gone before.
        found: the shots of a scan of the same folders.
        whole: new files that are completely written; others are ignored for now.

    Example:
        >>> quay = Shot("quay.png", Path("day"), (Path("day/quay.png"),), False)
        >>> folder_changes([quay], (), [], ()).gone
        (0,)
    """
    by_name = {_key(shot): shot for shot in found}
    there = {file for shot in by_name.values() for file in shot.files}
    owners = {file: index for index, shot in enumerate(known) for file in shot.files}
    changed: dict[int, Shot] = {}
    vanished, back = [], []
    for index, shot in enumerate(known):
        now = by_name.pop(_key(shot), None)
        if now is not None and now.files == shot.files:
            left: Shot | None = shot
        elif now is not None:
            left = with_files(now, [f for f in now.files if owners.get(f) == index or f in whole])
        else:
            left = with_files(shot, [file for file in shot.files if file in there])
        if left is None:
            if index not in gone:
                vanished.append(index)
            continue
        if index in gone:
            back.append(index)
        if left.files != shot.files:
            changed[index] = left
    came = []
    for shot in by_name.values():
        before = {owners[file] for file in shot.files if file in owners}
        ready = with_files(shot, [file for file in shot.files if file in owners or file in whole])
        if ready is None or len(ready.files) < 2 <= len(shot.files):
            continue  # still being written; the first frame of a sequence waits for the second
        if not before:
            came.append(ready)
        elif len(before) == 1 and not known[index := before.pop()].sequence:
            changed[index] = ready  # a still whose second frame came
    return FolderChanges(tuple(came), changed, tuple(vanished), tuple(back))


def with_files(shot: Shot, files: Sequence[Path]) -> Shot | None:
    """A shot with only some of its files; None for no files."""
    if not files:
        return None
    if len(files) == len(shot.files):
        return shot
    kept = set(files)
    numbers = tuple(number for number, file in zip(shot.numbers, shot.files, strict=True) if file in kept)
    return replace(shot, files=tuple(files), numbers=numbers)


def _key(shot: Shot) -> tuple[Path, str]:
    """The identity of a shot: its folder and its name."""
    return shot.first.parent, shot.name
