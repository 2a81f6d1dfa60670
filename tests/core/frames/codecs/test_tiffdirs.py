"""Directories of a TIFF as they stand: what is damaged is named and left out, what is too large is refused."""

import struct
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL.TiffImagePlugin import ImageFileDirectory_v2

from poise.errors import FrameError
from poise.frames.codecs.tiff import directories
from poise.frames.codecs.tiff.directories import Entry, Form, Reader, append, point_to

LITTLE = Form("<", False)


def file(path: Path, *tags: tuple[int, int, int, int], at: int = 8) -> Path:
    """A file with one directory, at 8; the value of a tag is what stands in its field."""
    head = struct.pack("<2sHI", b"II", 42, at)
    path.write_bytes(
        head + struct.pack("<H", len(tags)) + b"".join(struct.pack("<HHII", *tag) for tag in tags) + bytes(4)
    )
    return path


def read(path: Path, offset: int = 8) -> tuple[directories.Directory, list[str]]:
    with path.open("rb") as opened:
        reader = Reader(path, opened, LITTLE)
        return reader.directory(offset), reader.skipped


def test_a_directory_that_points_to_itself_is_left_out(tmp_path: Path) -> None:
    found, lost = read(file(tmp_path / "a.tif", (274, 3, 1, 6), (34665, 4, 1, 8), (65000, 13, 1, 8)))
    assert [entry.code for entry in found] == [274]
    assert lost == ["tag 34665, whose directory is damaged", "tag 65000, whose directory is damaged"]


def test_a_directory_outside_the_file_or_of_no_whole_number_is_left_out(tmp_path: Path) -> None:
    found, lost = read(file(tmp_path / "a.tif", (34665, 4, 1, 2**31), (34853, 2, 4, 8), (65000, 13, 0, 8)))
    assert [entry.code for entry in found] == [65000]  # an empty one holds nothing that could be lost
    assert lost == [f"tag {code}, whose directory is damaged" for code in (34665, 34853)]


def test_many_tags_that_share_a_large_value_are_refused(tmp_path: Path) -> None:
    path = file(tmp_path / "a.tif", *((65000 + place, 7, 2**20, 8) for place in range(100)))
    with path.open("ab") as opened:
        opened.truncate(2**20 + 4096)
    with pytest.raises(FrameError, match="its tags hold over 64 MB; remove those that are not needed"):
        read(path)


def test_a_directory_cut_short_is_told_by_an_error(tmp_path: Path) -> None:
    path = file(tmp_path / "a.tif", (274, 3, 1, 6))
    path.write_bytes(path.read_bytes()[:16])
    with pytest.raises(EOFError):
        read(path)


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("big", [False, True])
def test_what_is_written_is_read_by_another_library(tmp_path: Path, order: str, big: bool) -> None:
    form, path = Form(order, big), tmp_path / "a.tif"
    exif = (Entry(33434, 5, 1, struct.pack(f"{order}2I", 1, 250)), Entry(37500, 7, 5, b"maker"))
    entries = [
        Entry(34665, 4, 1, b"", (exif,)),
        Entry(274, 3, 1, struct.pack(f"{order}H", 6)),
        Entry(270, 2, 9, b"the quay\0"),
    ]
    with path.open("w+b") as opened:
        opened.write((b"II" if order == "<" else b"MM") + bytes(14))
        point_to(opened, append(opened, entries, form), form)
        place = directories.first(opened, form)
    data = BytesIO(path.read_bytes())

    def loaded(place: int) -> Any:
        theirs: Any = ImageFileDirectory_v2(b"II*\0" + bytes(4) if order == "<" else b"MM\0*" + bytes(4))
        theirs._bigtiff = big  # which it knows by itself of little-endian files only
        data.seek(place)
        theirs.load(data)
        return theirs

    theirs = loaded(place)
    assert (theirs[274], theirs[270], set(theirs)) == (6, "the quay", {270, 274, 34665})
    below = loaded(theirs[34665])
    assert (below[33434], below[37500]) == (1 / 250, b"maker")
