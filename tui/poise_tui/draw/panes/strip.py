"""The desk strip: ten columns with name, value, unit and keys, arranged as on the keyboard."""

from dataclasses import dataclass
from functools import lru_cache

from poise_tui.draw.cells import Cells, Ink

SHORT = {
    "saturation": "satur.",
    "exposure": "expos.",
    "contrast": "contr.",
    "shoulder": "should.",
    "flare red": "flare R",
    "flare green": "flare G",
    "flare blue": "flare B",
    "flare all": "flare",
    "flare in code": "in code",
    "hue high": "hue hi",
    "hue soft": "hue sft",
    "chroma low": "chr low",
    "chroma high": "chr hi",
    "chroma soft": "chr sft",
    "luma low": "lum low",
    "luma high": "lum hi",
    "luma soft": "lum sft",
    "hue turn": "turn",
}
"""Short names for narrow columns."""
CHANNELS = {"red": Ink.RED, "green": Ink.GREEN, "blue": Ink.BLUE}


@dataclass(frozen=True)
class Control:
    """One column: its name, value, unit, and three keys from top to bottom.

    Attributes:
        neutral: whether the value is neutral.
    """

    name: str
    value: str
    unit: str
    keys: str
    neutral: bool = True


def fitted(value: str, width: int) -> str:
    """A number in fewer cells, rounded rather than cut; a word is cut.

    Example:
        >>> fitted("+0.015", 5), fitted("-140.0", 5), fitted("1.010", 3), fitted("10.0", 3)
        ('+.015', '-140', '1.0', '10')
    """
    try:
        number = float(value)
    except ValueError:
        return value[:width]
    sign = "+" if value.startswith("+") else ""
    for places in range(len(value.partition(".")[2]), -1, -1):
        text = f"{number:{sign}.{places}f}"
        whole, point, part = text.partition(".")
        for shown in (text, whole.removesuffix("0") + point + part if whole.lstrip("+-") == "0" else text):
            if len(shown) <= width and shown not in ("", "+", "-"):
                return shown
    return "#" * width


@lru_cache(maxsize=8)
def draw_strip(controls: tuple[Control, ...], columns: int, rows: int, before: str = "", band: bool = False) -> Cells:
    """Columns side by side over the whole width; where rows are few, values come first, then names, units, keys.

    Args:
        before: a word in place of the units, since the picture is shown without these values; empty if it is not.
        band: whether names stand on a band, by which the banks after the first are told from it.
    """
    cells = Cells.blank(rows, columns)
    order = {1: "v", 2: "nv", 3: "nvu"}.get(rows, "nvuk")
    if band and rows > 1:
        cells.write(0, 0, " " * columns, Ink.CHOSEN)
    for place, control in enumerate(controls):
        start, end = (columns * place // len(controls), columns * (place + 1) // len(controls))
        width = end - start - 1
        name = control.name if len(control.name) <= width else SHORT.get(control.name, control.name)
        lines = {
            "n": (name, Ink.CHOSEN if band else CHANNELS.get(control.name, Ink.TITLE)),
            "v": (fitted(control.value, width), Ink.FAINT if control.neutral else Ink.TEXT),
            "u": (before, Ink.WARNING) if before and control.name else (control.unit, Ink.FAINT),
            "k": (control.keys, Ink.KEY if control.name else Ink.FAINT),
        }
        for row, what in enumerate(order):
            text, ink = lines[what]
            cells.write(row, start, text, ink, width)
    return cells
