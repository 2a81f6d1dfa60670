"""An emulated terminal's screen as SVG: dots, blocks and letters each at their place, whatever fonts a reader has."""

from html import escape

from terminals import Emulated
from terminals.emulated import Cell

WIDTH, HEIGHT = 9, 19
"""Of a cell."""
GROUND, TEXT = "#0f1315", "#c3cbce"
SIXTEEN = {
    "black": "#000000",
    "red": "#cd3131",
    "green": "#0dbc79",
    "brown": "#c8a45a",
    "blue": "#3b78e7",
    "magenta": "#bc3fbc",
    "cyan": "#11a8cd",
    "white": "#cccccc",
    "brightblack": "#767676",
    "brightred": "#f14c4c",
    "brightgreen": "#23d18b",
    "brightbrown": "#f5f543",
    "brightblue": "#6ea6ff",
    "brightmagenta": "#d670d6",
    "brightcyan": "#29b8db",
    "brightwhite": "#ffffff",
}
_DOTS = ((0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3))
"""Column and row of each bit of a braille pattern (Unicode, U+2800)."""
_UPPER_LEFT, _UPPER_RIGHT, _LOWER_LEFT, _LOWER_RIGHT = (0, 0), (1, 0), (0, 1), (1, 1)
_QUADRANTS = {
    "\u2580": (_UPPER_LEFT, _UPPER_RIGHT),
    "\u2596": (_LOWER_LEFT,),
    "\u2598": (_UPPER_LEFT,),
    "\u259b": (_UPPER_LEFT, _UPPER_RIGHT, _LOWER_LEFT),
    "\u259d": (_UPPER_RIGHT,),
    "\u259e": (_UPPER_RIGHT, _LOWER_LEFT),
    "\u258c": (_UPPER_LEFT, _LOWER_LEFT),
}
"""Column and row of the quadrants that a block element fills (Unicode, U+2580)."""


def svg(screen: Emulated) -> str:
    """The whole screen."""
    rows = screen.cells()
    width, height = WIDTH * len(rows[0]), HEIGHT * len(rows)
    squares: dict[str, list[str]] = {}
    letters: list[str] = []
    for line, row in enumerate(rows):
        for column, cell in enumerate(row):
            _draw(cell, column * WIDTH, line * HEIGHT, squares, letters)
    paths = [f'<path fill="{colour}" d="{"".join(parts)}"/>' for colour, parts in squares.items()]
    box = f'viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
    style = "font-family:DejaVu Sans Mono,Menlo,Consolas,monospace;font-size:14px;white-space:pre"
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" {box}>',
            f'<rect width="{width}" height="{height}" fill="{GROUND}"/>',
            *paths,
            f'<g style="{style}">',
            *letters,
            "</g></svg>\n",
        ]
    )


def _draw(cell: Cell, x: int, y: int, squares: dict[str, list[str]], letters: list[str]) -> None:
    fore, back = _colour(cell.fg, TEXT), _colour(cell.bg, GROUND)
    if cell.reverse:
        fore, back = back, fore
    if back != GROUND:
        squares.setdefault(back, []).append(f"M{x} {y}h{WIDTH}v{HEIGHT}h-{WIDTH}z")
    if cell.char in _QUADRANTS:
        for across, down in _QUADRANTS[cell.char]:
            at = f"M{x + across * WIDTH / 2:g} {y + down * HEIGHT / 2:g}"
            squares.setdefault(fore, []).append(f"{at}h{WIDTH / 2:g}v{HEIGHT / 2:g}h-{WIDTH / 2:g}z")
    elif "\u2800" <= cell.char <= "\u28ff":
        for bit, (across, down) in enumerate(_DOTS):
            if ord(cell.char) >> bit & 1:
                at = f"M{x + 1 + across * 4.5:g} {y + 1.4 + down * 4.75:g}h2.6v2.6h-2.6z"
                squares.setdefault(fore, []).append(at)
    elif cell.char.strip():
        weight = ' font-weight="bold"' if cell.bold else ""
        letters.append(f'<text x="{x}" y="{y + 14}" fill="{fore}"{weight}>{escape(cell.char)}</text>')


def _colour(name: str, default: str) -> str:
    return default if name == "default" else SIXTEEN.get(name, f"#{name}")
