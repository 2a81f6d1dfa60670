"""The range of a file's codes, full or narrow, by what others wrote about it: manifest, stamp, or header.

The codes themselves don't tell: those of a dark picture in full range look like narrow range.
"""

import re
from functools import lru_cache
from pathlib import Path
from typing import cast

from poise.batch import manifest
from poise.colour.ranges import narrow_codes
from poise.correction.model import Range
from poise.errors import OutputError
from poise.frames.codecs.dpx.codec import reference_codes
from poise.frames.scan import MANIFEST
from poise.regular_file import open_regular_file
from poise.stamp import Stamp

_STAMP = re.compile(rb"poise [^ ;]{1,40} correction [0-9a-f]{16}, (full|narrow) range")
_ENDS = 1 << 16
"""Bytes at either end of a file among which the text of its format is looked for."""
_UP = 8
"""Folders above a file in which a manifest is looked for."""


def known_range(file: Path) -> Range | None:
    """The range of a file's codes; None if nothing tells it.

    The manifest of the folder that `apply` wrote to counts while the file is as it was written, then the stamp in the
    file, then the reference codes of a DPX header.

    Example:
        known_range(Path("balanced/quay_02.tif"))  # "full"
    """
    return _by_manifest(file) or _by_stamp(file) or _by_header(file)


def _by_manifest(file: Path) -> Range | None:
    real = file.resolve()
    for folder in real.parents[:_UP]:
        stamp = Stamp.of(folder / MANIFEST)
        record = _records(folder, stamp).get(real.relative_to(folder).as_posix()) if stamp else None
        if record is not None:
            return record.range if record.output_stamp == Stamp.of(real) else None
    return None


@lru_cache(maxsize=64)
def _records(folder: Path, stamp: Stamp) -> dict[str, manifest.Record]:
    """The manifest of a folder, read once as long as its stamp is the same."""
    try:
        return manifest.read(folder)
    except OutputError:
        return {}


def _by_stamp(file: Path) -> Range | None:
    try:
        with open(file, "rb", opener=open_regular_file) as opened:
            text = opened.read(_ENDS)
            opened.seek(max(len(text), opened.seek(0, 2) - _ENDS))
            text += opened.read(_ENDS)
    except OSError:
        return None
    found = _STAMP.findall(text)
    return cast(Range, found[-1].decode()) if found else None


def _by_header(file: Path) -> Range | None:
    """By the reference low and high data code of a DPX file (SMPTE ST 268-1, image element)."""
    found = reference_codes(file) if file.suffix.lower() == ".dpx" else None
    if found is None:
        return None
    low, high, bits = found
    white = (1 << bits) - 1
    ends: dict[Range, tuple[int, int]] = {"narrow": narrow_codes(bits), "full": (0, white)}
    off = white / 512  # codes that were counted in another depth are rounded
    near = [name for name, (black, top) in ends.items() if abs(low - black) <= off and abs(high - top) <= off]
    return near[0] if near else None
