"""The record that proves: which files a report was about, by their hashes, to be held against what is on disk.

It is written at the top of the JSON of `poise report --json`, beside what else stands there, and read by
`poise check --against`. Paths are relative to the folder that was reported, and to that of the outputs, with `/`.
"""

from typing import Annotated

import msgspec
import xxhash
from msgspec import Meta, Struct

from poise import __version__
from poise.chain.source import portable
from poise.correction.model import Correction, Encoding

VERSION = 1


class Entry(Struct, frozen=True, omit_defaults=True):
    """One file; a sequence has one for every frame.

    Attributes:
        source: its path below the folder that was reported.
        hash: of the source's content, as `poise.batch.fingerprint.digest` gives it.
        decision: of its correction and encoding, as `decision_hash` gives it; empty where it has no sidecar.
        output: the path of what was made of it, below the folder of outputs; empty where there is none.
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
        poise_record: the version of this form.
        by: the program and its version.

    Example:
        >>> Record(files=(Entry("quay_02.tif", "0a1b"),)).files[0].source
        'quay_02.tif'
    """

    poise_record: Annotated[int, Meta(ge=1, le=VERSION)] = VERSION
    by: str = f"poise {__version__}"
    files: tuple[Entry, ...] = ()


def decision_hash(correction: Correction, encoding: Encoding | None) -> str:
    """The hash of what was decided about a shot; an encoding of None is the file's default.

    Example:
        >>> len(decided(Correction(), None))
        32
    """
    return xxhash.xxh3_128(msgspec.json.encode((correction, portable(encoding)), order="sorted")).hexdigest()
