"""What the terminal can do: its size, its colours, and whether it shows more than ASCII."""

import codecs
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Colours = Literal["truecolor", "256", "standard"] | None
"""In the words of rich; "standard" is 16 colours."""

PIPE = (100, 32)
"""Columns and rows if there is no terminal."""


@dataclass(frozen=True)
class Capability:
    """Size in cells, colour depth, and whether Unicode can be sent."""

    width: int
    height: int
    colours: Colours
    unicode: bool

    def text(self, text: str) -> str:
        """A text with "+-" for "±" if the terminal shows only ASCII."""
        return text if self.unicode else text.replace("±", "+-")


def capability(
    environ: Mapping[str, str], terminal: bool, size: tuple[int, int], encoding: str, colour: bool = False
) -> Capability:
    """Detects the terminal's capability from the environment.

    Args:
        environ: TERM, COLORTERM, NO_COLOR (https://no-color.org) and POSIX's LC_ALL, LC_CTYPE, LANG count.
        terminal: whether the output is a terminal.
        size: its columns and rows.
        encoding: of the output stream.
        colour: send colours even if the output is not a terminal.

    Example:
        >>> capability({"TERM": "xterm", "LANG": "C.UTF-8"}, True, (80, 24), "utf-8").colours
        'standard'
    """
    width, height = size if terminal else PIPE
    dumb = environ.get("TERM") == "dumb"
    wanted = colour or (terminal and not environ.get("NO_COLOR") and not dumb)
    return Capability(width, height, _colours(environ) if wanted else None, not dumb and _unicode(environ, encoding))


def _colours(environ: Mapping[str, str]) -> Colours:
    if environ.get("COLORTERM", "").lower() in ("truecolor", "24bit"):
        return "truecolor"
    return "256" if "256color" in environ.get("TERM", "") else "standard"


def _unicode(environ: Mapping[str, str], encoding: str) -> bool:
    """Python sends UTF-8 even under LC_ALL=C, so the locale is checked too, in POSIX's order of precedence."""
    locale = next((environ[name] for name in ("LC_ALL", "LC_CTYPE", "LANG") if environ.get(name)), "C")
    try:
        stream = codecs.lookup(encoding).name
    except LookupError:
        return False
    return stream == "utf-8" and "utf" in locale.lower()
