"""Compares the files in a manifest or a report with those on disk; the record is not trusted."""

import os
import stat
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from poise.batch.fingerprint import digest
from poise.delivery.fault import Fault
from poise.frames.codecs import EXTENSIONS

SOURCE = "the record"


@dataclass(frozen=True)
class Claim:
    """A recorded file.

    Attributes:
        name: its path below the folder, with `/`.
        hash: of its content, from `poise.batch.fingerprint.digest`.
        kind: source or output.
    """

    name: str
    hash: str
    kind: str


def below(folder: Path, name: str) -> Path | None:
    """The path of a recorded name below a folder; None if it leaves the folder, by `..` or through a link.

    Example:
        >>> below(Path("day"), "../secret.tif") is below(Path("day"), "/etc/passwd") is None
        True
    """
    parts = PurePosixPath(name).parts
    try:
        os.fsencode(name)
    except UnicodeEncodeError:  # a lone surrogate, valid in JSON but not in a file name
        return None
    if not parts or "\0" in name or name.startswith("/") or ".." in parts:
        return None
    path, real = folder / name, os.path.realpath(folder)
    found = os.path.realpath(path)
    return path if os.path.commonpath([real, found]) == real and found != real else None


def verify(claim: Claim, folders: Sequence[Path]) -> Fault | None:
    """The fault of a recorded file; None if the file is on disk unchanged.

    Args:
        folders: where to look for it; if several have a file of that name, one of them must match.
    """
    paths = [path for folder in folders if (path := below(folder, claim.name)) is not None]
    if not paths:
        words = "its recorded path is invalid or leaves the folder; it was not checked"
        return _fault(claim, claim.name, "path", words)
    found = [_content(claim, path) for path in paths if os.path.lexists(path)] or [_content(claim, paths[0])]
    return None if None in found else found[0]


def _content(claim: Claim, path: Path) -> Fault | None:
    """The fault of the file at a path."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            return _fault(claim, str(path), "changed", f"the {claim.kind} is not a regular file; restore the original")
        found = digest(path)
    except FileNotFoundError:
        return _fault(claim, str(path), "missing", f"the {claim.kind} is missing; restore it")
    except OSError as fault:
        return _fault(claim, str(path), "unreadable", f"the {claim.kind} can't be read: {fault.strerror}")
    if found != claim.hash:
        words = f"the {claim.kind} differs from the recorded one; restore that, or write a new record"
        return Fault(str(path), "changed", found, claim.hash, "", SOURCE, words)
    return None


def unrecorded(folder: Path, known: Iterable[str], kind: str) -> list[Fault]:
    """The faults of pictures in a folder that are not in the record; hidden files and links to folders are ignored."""
    names, found = set(known), []
    for top, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            path = Path(top, name)
            picture = not name.startswith(".") and path.suffix.lower() in EXTENSIONS
            if picture and path.relative_to(folder).as_posix() not in names:
                words = f"this {kind} is not in the record; remove it, or write a new record"
                found.append(Fault(str(path), "extra", source=SOURCE, words=words))
    return found


def _fault(claim: Claim, file: str, name: str, words: str) -> Fault:
    return Fault(file, name, None, claim.hash, "", SOURCE, words)
