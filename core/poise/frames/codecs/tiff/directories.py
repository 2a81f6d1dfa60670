"""The directories of a TIFF file: their entries and the directories below them, read and written byte for byte.

Source: TIFF 6.0 section 2 (structure) and Technical Note 1 (directories below a directory); BigTIFF as libtiff
documents it; Exif 2.32 clause 4.6.3 (pointers to the Exif, GPS and interoperability directories).
"""

import os
import struct
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from poise.errors import FrameError

SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
"""The bytes of a value by type."""
INTEGERS = {1: "B", 3: "H", 4: "I", 13: "I", 16: "Q", 18: "Q"}
"""The struct codes of unsigned integer types."""
_POINTER_KINDS = (13, 18)
_POINTERS = frozenset({400, 34665, 34853, 40965})
MAKER_NOTE = 37500
_DEEPEST, _MOST_BELOW = 4, 16
MOST = 2**26
"""The most bytes of all values together; a file with more is refused before they are read."""


@dataclass(frozen=True)
class Entry:
    """One tag.

    Attributes:
        code, kind, count: as stored.
        value: its bytes as stored, in the file's byte order.
        below: the directories that it points to, if it is a pointer.
        place: the place of a MakerNote, whose own offsets may count from the start of the file; else 0.
    """

    code: int
    kind: int
    count: int
    value: bytes
    below: tuple["Directory", ...] = ()
    place: int = 0


Directory = tuple[Entry, ...]


@dataclass(frozen=True)
class Form:
    """The form of a file: the byte order, `<` or `>`, and whether it is a BigTIFF; with its struct formats."""

    order: str
    big: bool

    def numbers(self, entry: Entry) -> tuple[int, ...]:
        """The unsigned integers in an entry; none if it holds another type."""
        letter = INTEGERS.get(entry.kind)
        return struct.unpack(f"{self.order}{entry.count}{letter}", entry.value) if letter else ()

    @property
    def offset(self) -> str:
        return self.order + ("Q" if self.big else "I")

    @property
    def count(self) -> str:
        """The number of entries in a directory."""
        return self.order + ("Q" if self.big else "H")

    @property
    def row(self) -> str:
        """An entry: code, type, number of values, and the value or its offset."""
        return self.order + ("HHQ8s" if self.big else "HHI4s")


def form_of(magic: bytes) -> Form:
    """The form of a file by its first four bytes."""
    return Form("<" if magic[:1] == b"I" else ">", 43 in magic[2:4])


class Reader:
    """Reads directories; entries that can't be read are left out and described in `skipped`.

    Args:
        path: named in errors.
        file: open for reading.
        form: of the file.

    Example:
        Reader(path, file, Form("<", False)).directory(8, skip={330})
    """

    def __init__(self, path: Path, file: BinaryIO, form: Form) -> None:
        self._path, self._file, self._form = path, file, form
        self._size = os.fstat(file.fileno()).st_size
        self._room = MOST
        self._visited: set[int] = set()
        self.skipped: list[str] = []

    def directory(self, offset: int, skip: Collection[int] = (), depth: int = 0) -> Directory:
        """The entries of the directory at an offset, without the codes in `skip`.

        Raises:
            FrameError: its values are over `MOST`.
            EOFError: the file ends before the directory, or it leads back to itself.
        """
        if offset in self._visited:
            raise EOFError
        self._visited.add(offset)
        form = self._form
        head = struct.calcsize(form.count)
        (count,) = struct.unpack(form.count, self._bytes(offset, head))
        fields = self._bytes(offset + head, count * struct.calcsize(form.row))
        entries = []
        for code, kind, number, inline in struct.iter_unpack(form.row, fields):
            if code not in skip:
                entry = self._entry(code, kind, number, inline, depth)
                entries += [entry] if entry else []
        return tuple(entries)

    def _entry(self, code: int, kind: int, count: int, inline: bytes, depth: int) -> Entry | None:
        size = SIZES.get(kind, 0) * count
        if kind not in SIZES:
            self.skipped.append(f"tag {code}, of the unknown type {kind}")
            return None
        value, place = inline[:size], 0
        if size > len(inline):
            (offset,) = struct.unpack(self._form.offset, inline)
            if offset + size > self._size:
                self.skipped.append(f"tag {code}, whose value is outside the file")
                return None
            value, place = self._bytes(offset, size), offset if code == MAKER_NOTE else 0
        entry = Entry(code, kind, count, value, place=place)
        if not count or (kind not in _POINTER_KINDS and code not in _POINTERS):
            return entry
        places = self._form.numbers(entry)
        if depth < _DEEPEST and 0 < len(places) <= _MOST_BELOW:
            try:
                below = tuple(self.directory(place, depth=depth + 1) for place in places)
                return Entry(code, kind, count, b"", below)
            except (struct.error, EOFError):
                pass
        self.skipped.append(f"tag {code}, whose directory is damaged")
        return None

    def _bytes(self, offset: int, size: int) -> bytes:
        self._room -= size
        if self._room < 0 and offset + size <= self._size:
            raise FrameError(self._path, f"its tags hold over {MOST >> 20} MB; remove those that are not needed")
        if offset + size > self._size:
            raise EOFError
        self._file.seek(offset)
        return self._file.read(size)


def maker_notes(entries: Iterable[Entry]) -> list[Entry]:
    """The MakerNotes with a place, in a directory and below it."""
    found = []
    for entry in entries:
        found += [entry] if entry.place else maker_notes(one for below in entry.below for one in below)
    return found


def append(file: BinaryIO, entries: Iterable[Entry], form: Form) -> int:
    """Write a directory, its values and the directories below it to the end of a file; returns its place.

    The value of an entry with a place must be there already.
    """
    width = 8 if form.big else 4
    fields = []
    for entry in sorted(entries, key=lambda entry: entry.code):
        kind, value = entry.kind, entry.value
        if entry.below:
            places = [append(file, below, form) for below in entry.below]
            if form.big and max(places) >= 2**32:
                kind = {4: 16, 13: 18}.get(kind, kind)
            value = struct.pack(f"{form.order}{len(places)}{INTEGERS[kind]}", *places)
        if len(value) > width:
            value = struct.pack(form.offset, entry.place or _put(file, value))
        fields.append(struct.pack(form.row, entry.code, kind, entry.count, value))
    return _put(file, struct.pack(form.count, len(fields)) + b"".join(fields) + bytes(width))


def first(file: BinaryIO, form: Form) -> int:
    """The place of the first directory."""
    file.seek(8 if form.big else 4)
    (place,) = struct.unpack(form.offset, file.read(8 if form.big else 4))
    return int(place)


def point_to(file: BinaryIO, place: int, form: Form) -> None:
    """Make the directory at a place the first one."""
    file.seek(8 if form.big else 4)
    file.write(struct.pack(form.offset, place))


def _put(file: BinaryIO, data: bytes) -> int:
    """Write data at the end, at an even place as the format requires."""
    end = file.seek(0, os.SEEK_END)
    file.write(bytes(end % 2) + data)
    return end + end % 2
