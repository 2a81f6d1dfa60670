"""PNG against Pillow and OpenImageIO, and its chunks against a reader written here."""

import struct
import zlib
from dataclasses import replace
from pathlib import Path

import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
from PIL import Image, PngImagePlugin

from poise.errors import FrameError
from poise.frames import Depth, Frame, probe, read, write

PHOTO = skimage.data.astronaut()[100:228, 150:300]
DEEP = (PHOTO.astype(np.uint16) * 257) ^ 3


def chunks(path: Path) -> list[tuple[bytes, bytes]]:
    data, at, found = path.read_bytes(), 8, []
    while at < len(data):
        (length,) = struct.unpack_from(">I", data, at)
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        assert zlib.crc32(kind + body) == struct.unpack_from(">I", data, at + 8 + length)[0]
        found.append((kind, body))
        at += 12 + length
    return found


def rebuilt(path: Path, parts: list[tuple[bytes, bytes]]) -> None:
    out = b"\x89PNG\r\n\x1a\n"
    for kind, body in parts:
        out += struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    path.write_bytes(out)


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16])
def test_independent_readers_see_the_same(tmp_path: Path, depth: Depth, channels: int) -> None:
    path = tmp_path / "a.png"
    photo = PHOTO if depth is Depth.U8 else DEEP
    pixels = np.ascontiguousarray(
        np.dstack([photo, photo[..., 0]])[..., [[0], [0, 3], [0, 1, 2], [0, 1, 2, 3]][channels - 1]]
    )
    write(path, Frame(pixels, depth))
    spec = oiio.ImageSpec()
    spec.attribute("oiio:UnassociatedAlpha", 1)
    source = oiio.ImageInput.open(str(path), spec)
    np.testing.assert_array_equal(
        source.read_image(0, 0, 0, channels, "uint8" if depth is Depth.U8 else "uint16"), pixels
    )
    if depth is Depth.U8:
        np.testing.assert_array_equal(np.asarray(Image.open(path)).reshape(pixels.shape), pixels)


@pytest.mark.parametrize("turned", [False, True])
def test_both_filters_decode(tmp_path: Path, turned: bool) -> None:
    """Level columns favour one filter, level rows the other; both must read back."""
    ramp = np.broadcast_to(np.arange(64, dtype=np.uint16)[:, None, None] * 997, (64, 64, 3))
    pixels = np.ascontiguousarray(ramp.transpose(1, 0, 2) if turned else ramp)
    write(tmp_path / "a.png", Frame(pixels, Depth.U16))
    np.testing.assert_array_equal(
        oiio.ImageInput.open(str(tmp_path / "a.png")).read_image(0, 0, 0, 3, "uint16"), pixels
    )


def test_chunks_are_kept_in_place(tmp_path: Path) -> None:
    one, two = tmp_path / "one.png", tmp_path / "two.png"
    write(one, Frame(DEEP, Depth.U16))
    parts = chunks(one)
    before = [
        (b"gAMA", struct.pack(">I", 45455)),
        (b"cHRM", bytes(range(32))),
        (b"cICP", bytes([1, 13, 0, 1])),
        (b"sBIT", bytes([12, 12, 12])),
        (b"pHYs", struct.pack(">IIB", 2835, 2835, 1)),
        (b"eXIf", b"MM\0*\0\0\0\x08\0\0\0\0\0\0"),
        (b"tEXt", b"Title\0quay"),
        (b"zTXt", b"Comment\0\0" + zlib.compress(b"a long day")),
        (b"prVt", b"safe to copy"),
        (b"prVT", b"not safe to copy"),
    ]
    after = [(b"iTXt", b"Author\0\0\0en\0\0Ann")]
    rebuilt(
        one, [parts[0], (b"iCCP", b"Harbour\0\0" + zlib.compress(b"profile")), *before, *parts[1:-1], *after, parts[-1]]
    )
    frame = read(one)
    assert frame.icc == b"profile"
    write(two, frame)
    found = chunks(two)
    kinds = [kind for kind, _ in found]
    kept = [part for part in before if part[0] != b"prVT"]
    assert kinds == [b"IHDR", b"iCCP", *(kind for kind, _ in kept), b"IDAT", b"iTXt", b"IEND"]
    assert found[2:-3] == kept
    assert found[1][1].startswith(b"Harbour\0\0")
    assert found[-2] == after[0]
    write(two, replace(frame, pixels=PHOTO, depth=Depth.U8))
    assert b"sBIT" not in [kind for kind, _ in chunks(two)]


@pytest.mark.parametrize("how", ["no stream", "cut short", "checksum"])
def test_a_damaged_profile_is_left_out_and_told(tmp_path: Path, how: str) -> None:
    """W3C PNG (Third Edition) 13.2: damage in an ancillary chunk need not stop a decoder; Pillow goes on."""
    one, two = tmp_path / "one.png", tmp_path / "two.png"
    write(one, Frame(PHOTO, Depth.U8))
    head, *rest = chunks(one)
    content = {"no stream": b"no profile at all", "cut short": zlib.compress(bytes(range(200)))[:-9]}
    body = b"Harbour\0\0" + content.get(how, zlib.compress(b"profile"))
    rebuilt(one, [head, (b"iCCP", body), (b"tEXt", b"Title\0quay"), *rest])
    if how == "checksum":
        data = bytearray(one.read_bytes())
        data[data.index(b"Harbour")] ^= 1
        one.write_bytes(data)
    else:
        np.testing.assert_array_equal(np.asarray(Image.open(one)), PHOTO)
    frame = read(one)
    assert frame.icc is None
    np.testing.assert_array_equal(frame.pixels, PHOTO)
    assert write(two, frame) == ("not kept: the chunk iCCP, which is damaged",)
    with Image.open(two) as again:
        np.testing.assert_array_equal(np.asarray(again), PHOTO)
        assert again.info == {"Title": "quay"}
    assert write(tmp_path / "a.tif", frame)[0] == "not kept: the chunk iCCP, which is damaged"


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16])
@pytest.mark.parametrize("grey", [False, True])
@pytest.mark.parametrize("interlaced", [False, True])
def test_a_transparent_colour_becomes_alpha_and_is_told(
    tmp_path: Path, depth: Depth, grey: bool, interlaced: bool
) -> None:
    """OpenImageIO (libpng) makes the same alpha of the source; of the output it reads codes and alpha as they were."""
    one, two = tmp_path / "one.png", tmp_path / "two.png"
    pixels = np.ascontiguousarray((PHOTO if depth is Depth.U8 else DEEP)[..., : 1 if grey else 3])
    clear = pixels[5, 7].tolist()
    pixels[20:30, 40:60] = clear
    write(one, Frame(pixels, depth, carry={"format": "png", "depth": depth, "interlaced": interlaced}))
    head, *rest = chunks(one)
    tints = [(b"sBIT", bytes([5] * len(clear))), (b"tRNS", struct.pack(f">{len(clear)}H", *clear))]
    rebuilt(one, [head, *tints, *rest])
    spec = oiio.ImageSpec()
    spec.attribute("oiio:UnassociatedAlpha", 1)
    kind = "uint8" if depth is Depth.U8 else "uint16"
    alpha = np.where((pixels == clear).all(axis=-1), 0, depth.maximum)
    assert 200 <= (alpha == 0).sum() < alpha.size / 2
    frame, header = read(one), probe(one)
    assert header.channels == frame.channels == len(clear) + 1
    np.testing.assert_array_equal(frame.pixels, np.dstack([pixels, alpha]))
    assert write(two, frame) == ("its transparent colour (tRNS) became an alpha channel",)
    assert [(kind, body) for kind, body in chunks(two) if kind in (b"tRNS", b"sBIT")] == [
        (b"sBIT", bytes([5] * len(clear) + [depth.bits]))
    ]
    for path in (one, two):
        theirs = oiio.ImageInput.open(str(path), spec).read_image(0, 0, 0, len(clear) + 1, kind)
        np.testing.assert_array_equal(theirs, frame.pixels, err_msg=path.name)


@pytest.mark.parametrize("body", [b"\0", b"\0\7\0\7\0\7\0\7"])
def test_a_transparent_colour_that_is_none_is_told(tmp_path: Path, body: bytes) -> None:
    path = tmp_path / "a.png"
    write(path, Frame(PHOTO, Depth.U8))
    head, *rest = chunks(path)
    rebuilt(path, [head, (b"tRNS", body), *rest])
    frame = read(path)
    assert probe(path).channels == frame.channels == 3
    assert write(path, frame) == ("not kept: the chunk tRNS, which is damaged",)


def test_text_reaches_another_reader(tmp_path: Path) -> None:
    info = PngImagePlugin.PngInfo()
    info.add_text("Title", "quay")
    Image.fromarray(PHOTO).save(tmp_path / "a.png", pnginfo=info, dpi=(300, 300), icc_profile=b"profile")
    write(tmp_path / "a.png", read(tmp_path / "a.png"))
    again = Image.open(tmp_path / "a.png")
    assert again.text == {"Title": "quay"}
    assert again.info["icc_profile"] == b"profile"
    assert again.info["dpi"] == pytest.approx((300, 300), abs=0.02)


def test_refused_by_name(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    grey = Image.fromarray(PHOTO[..., 0])
    for picture, options, what in (
        (grey.convert("P"), {}, "a palette"),
        (grey.convert("1"), {}, "1 bit"),
        (grey, {"save_all": True, "append_images": [Image.fromarray(PHOTO[..., 1])]}, "an animation"),
    ):
        picture.save(path, **options)
        with pytest.raises(FrameError) as told:
            read(path)
        assert what in told.value.reason


def test_damage_inside_a_whole_file_is_an_error(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    write(path, Frame(DEEP, Depth.U16))
    head, (_, packed), end = chunks(path)
    rebuilt(path, [head, (b"IDAT", packed[: len(packed) // 2]), end])
    with pytest.raises(FrameError, match="damaged or cut short"):
        read(path)
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 0xFF
    path.write_bytes(data)
    with pytest.raises(FrameError, match="damaged or cut short"):
        read(path)


def test_a_header_of_impossible_size_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    write(path, Frame(DEEP, Depth.U16))
    (_, head), *rest = chunks(path)
    for size, what in (((2**31 - 1, 2**31 - 1), "over the limit"), ((0, 9), "0 x 9 pixels; it is damaged")):
        rebuilt(path, [(b"IHDR", struct.pack(">II", *size) + head[8:]), *rest])
        for use in (read, probe):
            with pytest.raises(FrameError, match=what):
                use(path)
