"""What a file that `export --to clf` wrote gives: a whole correction ends in the code that is delivered."""

import re
from html import unescape
from pathlib import Path

from poise.regular_file import open_regular_file

HEAD = 1 << 16
"""Bytes in which a file of ours tells of itself."""
_WRITER = re.compile(r"<AppRelease>poise [^<]*</AppRelease>")
_GIVEN = re.compile(
    r"<OutputDescriptor>(?:half float|float|\d+ bit, (?:full|narrow) range), "
    r"([^<]+), primaries [^<]*</OutputDescriptor>"
)


def exported_code(file: Path) -> str:
    """The transfer function of what comes out of a file of ours; empty for linear light, and for files of others.

    Example:
        coded(Path("handover/quay_02.clf"))  # "sRGB"
    """
    with open(file, "rb", opener=open_regular_file) as opened:
        head = opened.read(HEAD).decode(errors="replace")
    found = _GIVEN.search(head) if _WRITER.search(head) else None
    given = unescape(found[1]) if found else ""
    return "" if given == "linear light" else given
