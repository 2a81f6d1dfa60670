"""The record of a report: the hashes of its files, to compare with the files on disk.

The fields are at the top level of the JSON of `poise report --json`, and `poise check --against` reads them. Paths are
relative to the folder that was reported, or to that of the outputs, with `/`.
"""

from pathlib import Path
from typing import Annotated

import msgspec
import xxhash
from msgspec import Meta, Struct

from poise import __version__
from poise.chain.source import portable, resolve_source
from poise.correction import Keyframe
from poise.correction.model import Correction, Encoding
from poise.correction.steady import Steady
from poise.sidecar import Sidecar

VERSION = 1


class Entry(Struct, frozen=True, omit_defaults=True):
    """One file; a sequence has an entry for every frame.

    Attributes:
        source: its path below the folder that was reported.
        hash: of the source's content, from `poise.batch.fingerprint.digest`.
        decision: the hash of its correction and encoding, from `decision_hash`; empty if it has no sidecar.
        output: the path of its output, below the folder of outputs; empty if there is none.
        output_hash: of the output's content.
    """

    source: str
    hash: str
    decision: str = ""
    output: str = ""
    output_hash: str = ""


class Record(Struct, frozen=True):
    """All files of a report.

    Attributes:
        poise_record: the version of this format.
        by: the program and its version.

    Example:
        >>> Record(files=(Entry("quay_02.tif", "0a1b"),)).files[0].source
        'quay_02.tif'
    """

    poise_record: Annotated[int, Meta(ge=1, le=VERSION)] = VERSION
    by: str = f"poise {__version__}"
    files: tuple[Entry, ...] = ()


def decision_hash(correction: Correction, encoding: Encoding | None, *over_time: Keyframe | Steady) -> str:
    """The hash of the decision about a shot; an encoding of None is the default of the file.

    Args:
        over_time: its keyframes in order, and its steady values.

    Example:
        >>> len(decision_hash(Correction(), None))
        32
    """
    settings = (correction, portable(encoding), *over_time)
    return xxhash.xxh3_128(msgspec.json.encode(settings, order="sorted")).hexdigest()


def hash_of(sidecar: Sidecar | None, folder: Path) -> str:
    """The hash of the decision in a sidecar; empty without one.

    Args:
        folder: the folder of the pictures, where a CLF that is their source is looked for.
    """
    if sidecar is None:
        return ""
    over_time: list[Keyframe | Steady] = [*sidecar.keyframes, *([sidecar.steady] if sidecar.steady else [])]
    return decision_hash(sidecar.correction, resolve_source(sidecar.encoding, folder), *over_time)
