"""DPX through the batch: every field of the header, user data, every code and all that stands after the picture.

The only differences are the pixels and the stamp in the creator, or what is told in a note.
"""

import struct
from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
from blocks import applied, differences, picture
from dpx_blocks import FIELDS, blocks, build, codes_of, packed
from PIL import Image

from poise.correction import Encoding

USER = b"HARBOUR\0" + bytes(range(256)) * 5
AFTER = bytes(range(255, -1, -1))


def codes(bits: int, channels: int) -> np.ndarray[Any, Any]:
    return picture("u2", channels) >> (16 - bits) if bits > 8 else picture("u1", channels)


def size(shape: tuple[int, ...], bits: int, packing: int) -> int:
    return len(packed(np.zeros(shape, int), bits, packing, ">"))


@pytest.mark.parametrize("order", [">", "<"])
@pytest.mark.parametrize(
    ("bits", "packing", "channels"),
    [(8, 0, 3), (10, 0, 3), (10, 1, 3), (10, 1, 1), (10, 2, 4), (12, 0, 3), (12, 1, 4), (12, 2, 3), (16, 0, 3)],
)
def test_every_field_and_code(tmp_path: Path, bits: int, packing: int, channels: int, order: str) -> None:
    pixels = codes(bits, channels)
    source = build(tmp_path / "a.dpx", pixels, bits, packing, order, USER, AFTER)
    output, notes, stamp = applied(source)
    assert notes == ()
    length = size(pixels.shape, bits, packing)
    before, after = blocks(source, length), blocks(output, length)
    creator = f"a scanner on the quay; {stamp}".encode().ljust(100, b"\0")
    assert differences(before, after) == {"creator": (before["creator"], creator)}
    assert (before["user data"], before["after"]) == (USER, AFTER)
    assert before["timecode"] == struct.pack(f"{order}I", list(FIELDS).index("timecode"))
    made = codes_of(output, pixels.shape, bits, packing)
    base = 1 if channels == 1 else 3
    np.testing.assert_array_equal(made[..., base:], pixels[..., base:])
    expected = np.floor(pixels[..., :base] / 2 + 0.5)  # DESIGN 4: rounding; within a code above 8 bit
    assert np.abs(made[..., :base] - expected).max() <= (bits > 8)


def test_without_a_stamp_the_header_is_the_same_bytes(tmp_path: Path) -> None:
    pixels = codes(10, 3)
    source = build(tmp_path / "a.dpx", pixels, 10, user=USER, after=AFTER, size=77)  # a size that is wrong, too
    output, notes, _ = applied(source, stamp=False)
    assert notes == ()
    one, two, start = source.read_bytes(), output.read_bytes(), 2048 + len(USER)
    assert two[:start] == one[:start]
    assert two[start + size(pixels.shape, 10, 1) :] == AFTER
    assert two[start:] != one[start:]


def test_timecode_and_film_data_as_another_library_reads_them(tmp_path: Path) -> None:
    source = build(tmp_path / "a.dpx", codes(10, 3), 10, timecode=0x01020304)
    output, _, _ = applied(source, stamp=False)
    one, two = (oiio.ImageInput.open(str(path)).spec() for path in (source, output))
    assert two.getattribute("dpx:TimeCode") == "01:02:03:04"
    before, after = ({a.name: a.value for a in spec.extra_attribs} for spec in (one, two))
    assert after == before
    assert len(before) > 30


def test_a_creator_without_room_is_left_alone_and_told(tmp_path: Path) -> None:
    pixels = codes(10, 3)
    source = build(
        tmp_path / "a.dpx", pixels, 10, creator=b"a scanner with a name of sixty-five letters and some more of them"
    )
    output, notes, stamp = applied(source)
    assert notes == (f"not stamped: the creator in its header leaves no room for '{stamp}'",)
    length = size(pixels.shape, 10, 1)
    assert differences(blocks(source, length), blocks(output, length)) == {}


@pytest.mark.parametrize("creator", [b"", b"\xff" * 100])
def test_an_unset_creator_is_the_stamp_alone(tmp_path: Path, creator: bytes) -> None:
    output, _, stamp = applied(build(tmp_path / "a.dpx", codes(10, 3), 10, creator=creator))
    assert blocks(output, 0)["creator"] == str(stamp).encode().ljust(100, b"\0")


def test_another_depth_counts_the_codes_of_the_header_anew(tmp_path: Path) -> None:
    levels = {"low code": 64, "high code": 940, "black level": 64.0, "white level": 940.0}
    source = build(tmp_path / "a.dpx", codes(10, 3), 10, user=USER, after=AFTER, **levels)
    output, notes, _ = applied(source, stamp=False, depth="12")
    assert notes == ()
    before, after = blocks(source, size((36, 64, 3), 10, 1)), blocks(output, size((36, 64, 3), 12, 1))
    changed = differences(before, after)
    assert set(changed) == {*levels, "bits", "size", "length"}
    for name, code in levels.items():
        kind = FIELDS[name][1]
        (counted,) = struct.unpack(f">{kind}", after[name])
        assert counted == pytest.approx(code * 4095 / 1023, abs=0.5 if kind == "I" else 1e-3)
    assert struct.unpack(">I", after["size"])[0] == output.stat().st_size


def test_another_encoding_is_no_longer_said_to_be_the_old(tmp_path: Path) -> None:
    source = build(tmp_path / "a.dpx", codes(10, 3), 10, transfer=3, colorimetric=1)
    output, notes, _ = applied(source, stamp=False, encoding=Encoding(source="Cineon", delivery="sRGB"))
    assert notes == ("not kept in another encoding: transfer and colorimetric characteristic",)
    length = size((36, 64, 3), 10, 1)
    after = blocks(output, length)
    assert (after["transfer"], after["colorimetric"]) == (b"\0", b"\0")
    assert set(differences(blocks(source, length), after)) == {"transfer", "colorimetric"}


def test_what_other_formats_leave_behind_is_told(tmp_path: Path) -> None:
    _, notes, _ = applied(build(tmp_path / "a.dpx", codes(16, 3), 16, 0, user=USER), format="tiff")
    assert notes == ("not kept in TIFF: film and television headers, user data, frame rate",)


def test_a_picture_that_was_no_dpx_is_stamped_too(tmp_path: Path) -> None:
    Image.fromarray(codes(8, 3)).save(tmp_path / "a.png")
    output, notes, stamp = applied(tmp_path / "a.png", format="dpx")
    assert notes == ()
    assert blocks(output, 0)["creator"] == str(stamp).encode().ljust(100, b"\0")
