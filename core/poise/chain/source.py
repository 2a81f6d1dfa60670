"""The source of a shot where it is a file in the Common LUT Format: looked for once, and run ahead of all else."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, overload

from msgspec import Struct
from msgspec.structs import asdict, replace

from poise.chain.stage import FromFile
from poise.correction.model import Encoding
from poise.errors import PoiseError, one_line

if TYPE_CHECKING:
    from poise.colour.clf import Transform

MOST_BESIDE = 100


class Clf(Struct, frozen=True):
    """A file that was looked for.

    Attributes:
        path: its real path.
        digest: the XXH3 hash of its content.
        fault: why it can't be taken; empty when it was found.
    """

    path: str = ""
    digest: str = ""
    fault: str = ""


class ResolvedEncoding(Encoding, frozen=True):
    """An encoding whose source is a CLF that was looked for."""

    clf: Clf = Clf()


@overload
def resolve_source(encoding: Encoding, folder: Path) -> Encoding: ...
@overload
def resolve_source(encoding: None, folder: Path) -> None: ...
def resolve_source(encoding: Encoding | None, folder: Path) -> Encoding | None:
    """The same encoding, with its CLF looked for in a shot's folder, where the source is one.

    Nothing is raised here, so that a shot without its file can be listed: whoever corrects it is told.

    Example:
        >>> resolve_source(Encoding(), Path("day")) == Encoding()
        True
    """
    if encoding is None or not encoding.from_clf:
        return encoding
    from poise.colour.clf import found  # brings OpenColorIO

    try:
        path, digest = found(encoding.source, folder)
        file = Clf(path, digest)
    except PoiseError as fault:
        file = Clf(fault=str(fault))
    known = {name: value for name, value in asdict(encoding).items() if name != "clf"}
    return ResolvedEncoding(**known, clf=file)


def portable(encoding: Encoding | None) -> Encoding | None:
    """The same encoding with its CLF told by what it holds, wherever it stands: for hashes and reports."""
    return replace(encoding, clf=replace(encoding.clf, path="")) if isinstance(encoding, ResolvedEncoding) else encoding


def clf_files(folder: Path) -> tuple[str, ...]:
    """The names of the CLF files in a folder, in order; of very many the first.

    Example:
        beside(Path("day"))  # ("camera_a.clf",)
    """
    try:
        with os.scandir(folder) as entries:
            names = [one.name for one in entries if one.name.lower().endswith(".clf") and one.name[0] != "."]
    except OSError:
        return ()
    return tuple(sorted(names)[:MOST_BESIDE])


def transform(encoding: Encoding) -> "Transform | None":
    """The transform of the encoding's CLF; None where its source is none.

    Raises:
        PoiseError: it was not found, or can't be taken; names the file.
    """
    if not encoding.from_clf:
        return None
    name = one_line(encoding.source[:200])
    if not isinstance(encoding, ResolvedEncoding):
        raise PoiseError(f"its source {name} was not looked for")
    if encoding.clf.fault:
        raise PoiseError(f"its source {name} {encoding.clf.fault}")
    from poise.colour.clf import load

    try:
        return load(encoding.clf.path, encoding.clf.digest)
    except PoiseError as fault:
        raise PoiseError(f"its source {name}: {fault}") from None


def stages(encoding: Encoding) -> list[FromFile]:
    """Full-range source code to what the CLF gives; nothing where the source is none.

    Raises:
        PoiseError: as `transform`.
    """
    found = transform(encoding)
    return [] if found is None else [FromFile(found, found.group, found.separable)]
