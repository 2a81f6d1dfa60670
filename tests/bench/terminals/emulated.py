"""A screen that bytes are fed to: what a terminal would show, cell by cell, so two screens can be compared."""

import copy
import re
from typing import NamedTuple

import pyte

# pyte takes "<" for the end of a CSI sequence and prints what follows it: the "u" of CSI < u, by which Textual hands
# the keyboard protocol back when it ends. All else that Textual sends pyte obeys, or passes over without a mark on the
# screen: private modes, CSI > n u, CSI ? n $ p (a query), OSC 22 and 52.
_MISREAD = re.compile(rb"\x1b\[<[0-9;]*u")
_BEGUN = re.compile(rb"\x1b(\[(<[0-9;]*)?)?\Z")


class Cell(NamedTuple):
    """One cell: its character ("" in the right half of a wide one), colours as RRGGBB or a name, and two attributes."""

    char: str
    fg: str
    bg: str
    bold: bool
    reverse: bool


class Emulated:
    """A screen of a size. It answers no query, has one buffer only (an alternate screen is the same one), no dim text.

    Example:
        >>> screen = Emulated(20, 2)
        >>> screen.feed(b"quay" + bytes([27]) + b"[1mside")
        >>> screen.text()[0].rstrip(), screen.cells()[0][4].bold
        ('quayside', True)
    """

    def __init__(self, columns: int, rows: int) -> None:
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self._held = b""

    def feed(self, data: bytes) -> None:
        """Takes more bytes; a sequence or a character may be cut anywhere."""
        data = self._held + data
        begun = _BEGUN.search(data)
        end = begun.start() if begun else len(data)
        self._held = data[end:]
        self._stream.feed(_MISREAD.sub(b"", data[:end]))

    def resize(self, columns: int, rows: int) -> None:
        """Another size; lines are cut at the top, as pyte does it, so judge it after the program drew again."""
        self._screen.resize(rows, columns)

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        return self._screen.columns, self._screen.lines

    @property
    def cursor(self) -> tuple[int, int, bool]:
        """Column and row from 0, and whether it is shown."""
        cursor = self._screen.cursor
        return cursor.x, cursor.y, not cursor.hidden

    def text(self) -> list[str]:
        """The rows, each with its trailing blanks."""
        screen = self._screen
        return ["".join(screen.buffer[y][x].data for x in range(screen.columns)) for y in range(screen.lines)]

    def cells(self) -> list[list[Cell]]:
        """Rows of cells."""
        screen = self._screen
        return [
            [
                Cell(char.data, char.fg, char.bg, char.bold, char.reverse)
                for char in map(screen.buffer[y].__getitem__, range(screen.columns))
            ]
            for y in range(screen.lines)
        ]

    def shows(self, text: str) -> bool:
        """Whether one row holds the text."""
        return any(text in row for row in self.text())

    def snapshot(self) -> "Emulated":
        """The screen as it is now, untouched by what is fed later; for reading."""
        held = Emulated(*self.size)
        held._screen = copy.copy(self._screen)
        held._screen.cursor = copy.copy(self._screen.cursor)
        held._screen.buffer = copy.copy(self._screen.buffer)
        for y, line in self._screen.buffer.items():
            held._screen.buffer[y] = copy.copy(line)
        held._stream = pyte.ByteStream(held._screen)
        return held

    def __str__(self) -> str:
        return "\n".join(row.rstrip() for row in self.text())
