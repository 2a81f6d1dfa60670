"""DPX against OpenImageIO in both directions, and every code against words unpacked here by struct."""

import struct
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest

from poise.errors import FrameError
from poise.frames import Depth, Frame, probe, read, write

Array = np.ndarray[Any, Any]


def codes(depth: Depth, channels: int, width: int, height: int) -> Array:
    rng = np.random.default_rng(width)
    return rng.integers(0, depth.maximum, (height, width, channels), depth.dtype, endpoint=True)


def oiio_read(path: Path, bits: int) -> Array:
    source = oiio.ImageInput.open(str(path))
    pixels = source.read_image(0, 0, 0, source.spec().nchannels, "uint8" if bits == 8 else "uint16")
    return pixels if bits == 8 else pixels >> (16 - bits)


def oiio_write(path: Path, pixels: Array, bits: int, packing: str, endian: str) -> None:
    """OpenImageIO keeps the top bits, so codes go in with their bits repeated below."""
    wide = pixels if bits in (8, 16) else (pixels << (16 - bits) | pixels >> (2 * bits - 16)).astype(np.uint16)
    spec = oiio.ImageSpec(pixels.shape[1], pixels.shape[0], pixels.shape[2], oiio.UINT8 if bits == 8 else oiio.UINT16)
    for name, value in (("oiio:BitsPerSample", bits), ("dpx:Packing", packing), ("oiio:Endian", endian)):
        spec.attribute(name, value)
    out = oiio.ImageOutput.create("dpx")
    assert out.open(str(path), spec)
    assert out.write_image(np.ascontiguousarray(wide))
    assert out.close()


@pytest.mark.parametrize("endian", ["big", "little"])
@pytest.mark.parametrize("packing", ["Packed", "Filled, method A", "Filled, method B"])
@pytest.mark.parametrize("channels", [1, 3, 4])
@pytest.mark.parametrize("bits", [8, 10, 12, 16])
def test_files_of_another_library(tmp_path: Path, bits: int, channels: int, packing: str, endian: str) -> None:
    one, two = tmp_path / "one.dpx", tmp_path / "two.dpx"
    for width in (1, 2, 7, 64):
        pixels = codes(Depth(str(bits)), channels, width, 5)
        oiio_write(one, pixels, bits, packing, endian)
        frame = read(one)
        np.testing.assert_array_equal(frame.pixels, pixels)
        write(two, frame)
        np.testing.assert_array_equal(read(two).pixels, pixels)
        before, after = one.read_bytes(), two.read_bytes()
        assert after[:16] == before[:16]
        assert after[20:2048] == before[20:2048]
        if width == 64:  # no loose bits at the end of a row, which hold rubbish in the other library's files
            assert after[2048:] == before[2048 : len(after)]


@pytest.mark.parametrize(("bits", "channels"), [(8, 1), (8, 3), (8, 4), (10, 3), (12, 1), (12, 3), (12, 4), (16, 3)])
@pytest.mark.parametrize("width", [3, 64, 67])
def test_new_files_in_another_library(tmp_path: Path, bits: int, channels: int, width: int) -> None:
    path = tmp_path / "a.dpx"
    pixels = codes(Depth(str(bits)), channels, width, 70)
    write(path, Frame(pixels, Depth(str(bits))))
    np.testing.assert_array_equal(oiio_read(path, bits).reshape(pixels.shape), pixels)


@pytest.mark.parametrize("depth", [Depth.U10, Depth.U12])
def test_every_code_survives(tmp_path: Path, depth: Depth) -> None:
    every = np.arange(depth.maximum + 1, dtype=np.uint16)
    pixels = np.stack([every, every[::-1], np.roll(every, 7)], -1).reshape(32, -1, 3)
    write(tmp_path / "a.dpx", Frame(pixels, depth))
    write(tmp_path / "b.dpx", read(tmp_path / "a.dpx"))
    np.testing.assert_array_equal(read(tmp_path / "b.dpx").pixels, pixels)
    np.testing.assert_array_equal(oiio_read(tmp_path / "b.dpx", depth.bits), pixels)
    data = (tmp_path / "b.dpx").read_bytes()
    (offset,) = struct.unpack_from(">I", data, 4)
    if depth is Depth.U10:  # SMPTE ST 268-1 annex C, method A: three codes from the top, two bits of padding
        words = struct.unpack_from(f">{pixels.size // 3}I", data, offset)
        by_hand = [word >> shift & 1023 for word in words for shift in (22, 12, 2)]
    else:
        by_hand = [word >> 4 for word in struct.unpack_from(f">{pixels.size}H", data, offset)]
    assert by_hand == pixels.ravel().tolist()
    assert len(data) == struct.unpack_from(">I", data, 16)[0]


def test_luma_in_filled_words_starts_low(tmp_path: Path) -> None:
    pixels = codes(Depth.U10, 1, 66, 5)
    write(tmp_path / "a.dpx", Frame(pixels, Depth.U10))
    np.testing.assert_array_equal(oiio_read(tmp_path / "a.dpx", 10), pixels)


def test_rows_padded_to_words_are_known_by_the_size(tmp_path: Path) -> None:
    path = tmp_path / "a.dpx"
    pixels = codes(Depth.U8, 3, 7, 5)
    write(path, Frame(pixels, Depth.U8))
    front = path.read_bytes()[:2048]
    padded = np.pad(pixels.reshape(5, 21), ((0, 0), (0, 3)))
    path.write_bytes(front + padded.tobytes())
    frame = read(path)
    np.testing.assert_array_equal(frame.pixels, pixels)
    write(path, frame)
    assert path.read_bytes()[2048:] == padded.tobytes()


def test_the_header_is_kept(tmp_path: Path) -> None:
    one, two = tmp_path / "one.dpx", tmp_path / "two.dpx"
    pixels = codes(Depth.U10, 3, 30, 4)
    spec = oiio.ImageSpec(30, 4, 3, oiio.UINT16)
    film = {"dpx:FilmEdgeCode": "0123456789abcdef", "dpx:InputDevice": "a scanner", "dpx:Transfer": "Printing density"}
    film |= {"dpx:TimeCode": "01:02:03:04", "dpx:UserData": "", "DocumentName": "harbour", "oiio:BitsPerSample": 10}
    for name, value in film.items():
        spec.attribute(name, value)
    out = oiio.ImageOutput.create("dpx")
    assert out.open(str(one), spec)
    assert out.write_image((pixels << 6).astype(np.uint16))
    assert out.close()
    frame = read(one)
    write(two, replace(frame, pixels=frame.pixels // 2))
    assert two.read_bytes()[20:2048] == one.read_bytes()[20:2048]
    np.testing.assert_array_equal(read(two).pixels, pixels // 2)
    write(two, replace(frame, pixels=frame.pixels << 6, depth=Depth.U16))
    again = oiio.ImageInput.open(str(two)).spec()
    assert again.getattribute("dpx:TimeCode") == "01:02:03:04"
    assert again.get_int_attribute("oiio:BitsPerSample", 16) == 16
    np.testing.assert_array_equal(oiio_read(two, 16), pixels << 6)


@pytest.mark.parametrize(
    ("offset", "kind", "value", "what"),
    [
        (770, "H", 2, "2 image elements"),
        (800, "B", 102, "an element of kind 102"),
        (800, "B", 52, "an element of kind 52"),
        (803, "B", 32, "values of 32 bit"),
        (780, "I", 1, "signed values of 10 bit"),
        (806, "H", 1, "run-length encoding"),
        (660, "I", 77, "encrypted data"),
        (804, "H", 5, "packing 5"),
        (772, "I", 2**31, "over the limit"),
        (776, "I", 0, "0 pixels; it is damaged"),
        (808, "I", 3, "its header is damaged"),
    ],
)
def test_refused_by_name(tmp_path: Path, offset: int, kind: str, value: int, what: str) -> None:
    path = tmp_path / "a.dpx"
    write(path, Frame(codes(Depth.U10, 3, 8, 8), Depth.U10))
    data = bytearray(path.read_bytes())
    struct.pack_into(f">{kind}", data, offset, value)
    path.write_bytes(data)
    for use in (read, probe):
        with pytest.raises(FrameError) as told:
            use(path)
        assert what in told.value.reason
