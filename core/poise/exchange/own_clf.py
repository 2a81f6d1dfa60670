"""Recognises a CLF that `export --to clf` wrote: its output is delivery code, not linear light."""

import re
from html import unescape
from pathlib import Path

from poise.regular_file import open_regular_file

HEAD = 1 << 16
"""Bytes that contain the metadata of a file from poise."""
_WRITER = re.compile(r"<AppRelease>poise [^<]*</AppRelease>")
_GIVEN = re.compile(
    r"<OutputDescriptor>(?:half float|float|\d+ bit, (?:full|narrow) range), "
    r"([^<]+), primaries [^<]*</OutputDescriptor>"
)


def exported_code(file: Path) -> str:
    """The transfer function of the output of a CLF from poise; empty for linear light, and for files of others.

    Example:
        exported_code(Path("handover/quay_02.clf"))  # "sRGB"
    """
    with open(file, "rb", opener=open_regular_file) as opened:
        head = opened.read(HEAD).decode(errors="replace")
    found = _GIVEN.search(head) if _WRITER.search(head) else None
    given = unescape(found[1]) if found else ""
    return "" if given == "linear light" else given
