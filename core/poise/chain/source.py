"""A CLF file as the source of a shot: found in the shot's folder, and run ahead of the whole chain."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, overload

from msgspec import Struct, to_builtins
from msgspec.structs import asdict, replace

from poise.chain.stage import FromFile
from poise.correction.model import Encoding
from poise.errors import PoiseError, one_line

if TYPE_CHECKING:
    from poise.colour.clf import Transform

MOST_LISTED = 100


class Clf(Struct, frozen=True):
    """A CLF file, or why there is none.

    Attributes:
        path: the real path.
        digest: the XXH3 hash of the content.
        fault: why the file can't be used; empty if it was found.
    """

    path: str = ""
    digest: str = ""
    fault: str = ""


class ResolvedEncoding(Encoding, frozen=True):
    """An encoding whose CLF source has been looked up."""

    clf: Clf = Clf()


@overload
def resolve_source(encoding: Encoding, folder: Path) -> Encoding: ...
@overload
def resolve_source(encoding: None, folder: Path) -> None: ...
def resolve_source(encoding: Encoding | None, folder: Path) -> Encoding | None:
    """The same encoding, with its source looked up in the shot's folder if it is a CLF.

    A missing file raises nothing here, so that its shot can still be listed; `transform` raises when the shot is
    corrected.

    Args:
        encoding: None is returned unchanged.
        folder: the folder of the shot's pictures.

    Example:
        >>> resolve_source(Encoding(), Path("day")) == Encoding()
        True
    """
    if encoding is None or not encoding.from_clf:
        return encoding
    from poise.colour.clf import locate  # imports OpenColorIO

    try:
        path, digest = locate(encoding.source, folder)
        file = Clf(path, digest)
    except PoiseError as fault:
        file = Clf(fault=str(fault))
    known = {name: value for name, value in asdict(encoding).items() if name != "clf"}
    return ResolvedEncoding(**known, clf=file)


def portable(encoding: Encoding | None) -> dict[str, Any] | None:
    """An encoding for hashes and records, with its CLF identified by content and not by path.

    A matrix that it doesn't name is left out, so that hashes are those from before there was one.
    """
    if isinstance(encoding, ResolvedEncoding):
        encoding = replace(encoding, clf=replace(encoding.clf, path=""))
    found: dict[str, Any] | None = to_builtins(encoding)
    if found and found["matrix"] is None:
        del found["matrix"]
    return found


def clf_files(folder: Path) -> tuple[str, ...]:
    """The names of the CLF files in a folder, sorted; at most MOST_LISTED.

    Example:
        clf_files(Path("day"))  # ("camera_a.clf",)
    """
    try:
        with os.scandir(folder) as entries:
            names = [one.name for one in entries if one.name.lower().endswith(".clf") and one.name[0] != "."]
    except OSError:
        return ()
    return tuple(sorted(names)[:MOST_LISTED])


def transform(encoding: Encoding) -> "Transform | None":
    """The transform in the encoding's CLF; None if its source is not a CLF.

    Raises:
        PoiseError: the file was not found or is not valid; the message names it.
    """
    if not encoding.from_clf:
        return None
    name = one_line(encoding.source[:200])
    if not isinstance(encoding, ResolvedEncoding):
        raise PoiseError(f"its source {name} was not looked up")
    if encoding.clf.fault:
        raise PoiseError(f"its source {name} {encoding.clf.fault}")
    from poise.colour.clf import load

    try:
        return load(encoding.clf.path, encoding.clf.digest)
    except PoiseError as fault:
        raise PoiseError(f"its source {name}: {fault}") from None


def stages(encoding: Encoding) -> list[FromFile]:
    """The stage that applies the encoding's CLF to full-range source code; none if its source is not a CLF.

    Raises:
        PoiseError: as `transform`.
    """
    found = transform(encoding)
    return [] if found is None else [FromFile(found, found.group, found.separable)]
