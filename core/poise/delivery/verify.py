"""What a manifest or a record claims about files, held against what is on disk; nothing in it is trusted."""

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
    """That a file is there, and what its content hashes to.

    Attributes:
        name: its path below the folder, with `/`, as it was recorded.
        hash: as `poise.batch.fingerprint.digest` gives it.
        kind: source or output.
    """

    name: str
    hash: str
    kind: str


def below(folder: Path, name: str) -> Path | None:
    """The path of a name below a folder; None where it leads anywhere else, by itself or through a link.

    Example:
        >>> below(Path("day"), "../secret.tif") is below(Path("day"), "/etc/passwd") is None
        True
    """
    parts = PurePosixPath(name).parts
    try:
        os.fsencode(name)
    except UnicodeEncodeError:  # half of a pair, which JSON may hold and no name of a file
        return None
    if not parts or "\0" in name or name.startswith("/") or ".." in parts:
        return None
    path, real = folder / name, os.path.realpath(folder)
    found = os.path.realpath(path)
    return path if os.path.commonpath([real, found]) == real and found != real else None


def verify(claim: Claim, folders: Sequence[Path]) -> Fault | None:
    """What is wrong with a claim; None where the very file is there.

    Args:
        folders: it is looked for in each; several may have a file of that name, and one of those must be it.
    """
    paths = [path for folder in folders if (path := below(folder, claim.name)) is not None]
    if not paths:
        words = "its recorded path is none, or leads out of the folder by itself or by a link; it was not looked at"
        return _fault(claim, claim.name, "path", words)
    found = [_content(claim, path) for path in paths if os.path.lexists(path)] or [_content(claim, paths[0])]
    return None if None in found else found[0]


def _content(claim: Claim, path: Path) -> Fault | None:
    """What is wrong with the file at a path."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            return _fault(claim, str(path), "changed", f"the {claim.kind} is no plain file; put the real one back")
        found = digest(path)
    except FileNotFoundError:
        return _fault(claim, str(path), "missing", f"the {claim.kind} was recorded and is not there; put it back")
    except OSError as fault:
        return _fault(claim, str(path), "unreadable", f"the {claim.kind} can't be read: {fault.strerror}")
    if found != claim.hash:
        words = f"the {claim.kind} is not the one that was recorded; put that back, or make the record anew"
        return Fault(str(path), "changed", found, claim.hash, "", SOURCE, words)
    return None


def unrecorded(folder: Path, known: Iterable[str], kind: str) -> list[Fault]:
    """Pictures in a folder that nothing was recorded of; hidden files and links to folders are passed over."""
    names, found = set(known), []
    for top, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            path = Path(top, name)
            picture = not name.startswith(".") and path.suffix.lower() in EXTENSIONS
            if picture and path.relative_to(folder).as_posix() not in names:
                words = f"this {kind} was not recorded; take it out, or make the record anew"
                found.append(Fault(str(path), "extra", source=SOURCE, words=words))
    return found


def _fault(claim: Claim, file: str, name: str, words: str) -> Fault:
    return Fault(file, name, None, claim.hash, "", SOURCE, words)
