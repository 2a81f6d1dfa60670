"""Directories of a TIFF file as they stand: entries with those below them, read and written again byte for byte.

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

_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
_WHOLE = {1: "B", 3: "H", 4: "I", 13: "I", 16: "Q", 18: "Q"}
_POINTER_KINDS = (13, 18)
_POINTERS = frozenset({400, 34665, 34853, 40965})
_DEEPEST, _MOST_BELOW = 4, 16
MOST = 2**26
"""Bytes of all values together; a file with more is refused before they are read."""


@dataclass(frozen=True)
class Entry:
    """One tag.

    Attributes:
        code, kind, count: as stored.
        value: its bytes as stored, in the file's byte order.
        below: for a tag that points to directories, what they hold.
    """

    code: int
    kind: int
    count: int
    value: bytes
    below: tuple["Directory", ...] = ()


Directory = tuple[Entry, ...]


@dataclass(frozen=True)
class Form:
    """How a file counts: `order` is `<` or `>`, `big` whether it is a BigTIFF."""

    order: str
    big: bool

    def numbers(self, entry: Entry) -> tuple[int, ...]:
        """The whole numbers that an entry holds; none when it holds something else."""
        letter = _WHOLE.get(entry.kind)
        return struct.unpack(f"{self.order}{entry.count}{letter}", entry.value) if letter else ()

    @property
    def offset(self) -> str:
        return self.order + ("Q" if self.big else "I")


class Reader:
    """Reads directories; what can't be read is left out and named in `lost`.

    Args:
        path: only to name it.
        file: open to be read.
        form: how it counts.

    Example:
        Reader(path, file, Form("<", False)).directory(8, skip={330})
    """

    def __init__(self, path: Path, file: BinaryIO, form: Form) -> None:
        self._path, self._file, self._form = path, file, form
        self._size = os.fstat(file.fileno()).st_size
        self._room = MOST
        self._seen: set[int] = set()
        self.lost: list[str] = []

    def directory(self, offset: int, skip: Collection[int] = (), depth: int = 0) -> Directory:
        """The entries of the directory at an offset, but those of the codes in `skip`.

        Raises:
            FrameError: its values are over `MOST`.
            EOFError: the file ends before the directory does, or it goes round in a circle.
        """
        if offset in self._seen:
            raise EOFError
        self._seen.add(offset)
        form = self._form
        head, each = (8, 20) if form.big else (2, 12)
        (count,) = struct.unpack(form.order + ("Q" if form.big else "H"), self._bytes(offset, head))
        fields = self._bytes(offset + head, count * each)
        entries = []
        for at in range(0, len(fields), each):
            code, kind, number = struct.unpack_from(form.order + ("HHQ" if form.big else "HHI"), fields, at)
            if code not in skip:
                inline = fields[at + (12 if form.big else 8) : at + each]
                entry = self._entry(code, kind, number, inline, depth)
                entries += [entry] if entry else []
        return tuple(entries)

    def _entry(self, code: int, kind: int, count: int, inline: bytes, depth: int) -> Entry | None:
        size = _SIZES.get(kind, 0) * count
        if kind not in _SIZES:
            self.lost.append(f"tag {code}, of the unknown type {kind}")
            return None
        value = inline[:size]
        if size > len(inline):
            (offset,) = struct.unpack(self._form.offset, inline)
            if offset + size > self._size:
                self.lost.append(f"tag {code}, whose value lies outside the file")
                return None
            value = self._bytes(offset, size)
        entry = Entry(code, kind, count, value)
        if not count or (kind not in _POINTER_KINDS and code not in _POINTERS):
            return entry
        places = self._form.numbers(entry)
        if depth < _DEEPEST and 0 < len(places) <= _MOST_BELOW:
            try:
                below = tuple(self.directory(place, depth=depth + 1) for place in places)
                return Entry(code, kind, count, b"", below)
            except (struct.error, EOFError):
                pass
        self.lost.append(f"tag {code}, whose directory is damaged")
        return None

    def _bytes(self, offset: int, size: int) -> bytes:
        self._room -= size
        if self._room < 0 and offset + size <= self._size:
            raise FrameError(self._path, f"its tags hold over {MOST >> 20} MB; take out what is not needed")
        if offset + size > self._size:
            raise EOFError
        self._file.seek(offset)
        return self._file.read(size)


def append(file: BinaryIO, entries: Iterable[Entry], form: Form) -> int:
    """Writes a directory, its values and all below it to the end of a file, and returns where it stands."""
    width = 8 if form.big else 4
    fields = []
    for entry in sorted(entries, key=lambda entry: entry.code):
        kind, value = entry.kind, entry.value
        if entry.below:
            places = [append(file, below, form) for below in entry.below]
            if form.big and max(places) >= 2**32:
                kind = {4: 16, 13: 18}.get(kind, kind)
            value = struct.pack(f"{form.order}{len(places)}{_WHOLE[kind]}", *places)
        if len(value) > width:
            value = struct.pack(form.offset, _put(file, value))
        counted = struct.pack(form.order + ("HHQ" if form.big else "HHI"), entry.code, kind, entry.count)
        fields.append(counted + value.ljust(width, b"\0"))
    number = struct.pack(form.order + ("Q" if form.big else "H"), len(fields))
    return _put(file, number + b"".join(fields) + bytes(width))


def first(file: BinaryIO, form: Form) -> int:
    """Where the first directory stands."""
    file.seek(8 if form.big else 4)
    (place,) = struct.unpack(form.offset, file.read(8 if form.big else 4))
    return int(place)


def point_to(file: BinaryIO, place: int, form: Form) -> None:
    """Makes the directory at a place the first."""
    file.seek(8 if form.big else 4)
    file.write(struct.pack(form.offset, place))


def _put(file: BinaryIO, data: bytes) -> int:
    """Writes data to the end, on an even place as the format asks."""
    end = file.seek(0, os.SEEK_END)
    file.write(bytes(end % 2) + data)
    return end + end % 2
