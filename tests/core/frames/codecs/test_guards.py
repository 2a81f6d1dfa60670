"""Hostile headers: what claims more than the limits, or than its file holds, is refused before it is believed."""

import io
import os
import struct
import tracemalloc
import zlib
from itertools import pairwise
from pathlib import Path

import clips
import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
import tifffile
from PIL import Image

from poise.errors import FrameError
from poise.frames import Depth, Frame, limits, probe, read, write
from poise.frames.codecs import FORMATS
from poise.frames.codecs.guard import guard

PHOTO = skimage.data.astronaut()[:40, :60]


def refused(path: Path) -> str:
    """Why a picture is refused; neither to read nor to probe it takes memory."""
    told = set()
    for use in (read, probe):
        tracemalloc.start()
        try:
            with pytest.raises(FrameError) as fault:
                use(path)
            assert tracemalloc.get_traced_memory()[1] < 2**23
        finally:
            tracemalloc.stop()
        told.add(fault.value.reason)
    assert len(told) == 1
    return told.pop()


def saved(path: Path) -> bytearray:
    name = next(name for name, kind in FORMATS.items() if path.suffix in kind.extensions)
    if name == "clip":
        clips.clip(path, "prores_ks", "yuv422p10le", clips.greys([90], "yuv422p10le", 60, 40))
        return bytearray(path.read_bytes())
    if FORMATS[name].written_as:
        Image.fromarray(PHOTO).save(path, icc_profile=b"harbour", quality=75)
        return bytearray(path.read_bytes())
    depth = Depth.HALF if name == "exr" else Depth.U8
    write(path, Frame(np.ascontiguousarray(PHOTO).astype(depth.dtype), depth, linear=depth.is_float))
    return bytearray(path.read_bytes())


def sized(path: Path, width: int, height: int) -> None:
    """A small picture whose header says another size."""
    data = saved(path)
    if path.suffix == ".png":
        struct.pack_into(">II", data, 16, width, height)
    elif path.suffix == ".dpx":
        struct.pack_into(">II", data, 772, width, height)
    elif path.suffix == ".bmp":
        struct.pack_into("<ii", data, 18, width, height)
    elif path.suffix == ".webp":
        data[24:30] = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
        struct.pack_into("<HH", data, data.index(b"\x9d\x01\x2a") + 3, width & 0x3FFF, height & 0x3FFF)
    elif path.suffix == ".jpg":
        at = data.index(b"\xff\xc0")
        struct.pack_into(">HH", data, at + 5, height, width)
    elif path.suffix == ".exr":
        at = data.index(b"dataWindow\0box2i\0") + 21
        struct.pack_into("<4i", data, at, 0, 0, width - 1, height - 1)
    else:
        with tifffile.TiffFile(path) as tif:
            for tag, value in (("ImageWidth", width), ("ImageLength", height)):
                struct.pack_into("<HII", data, tif.pages[0].tags[tag].offset + 2, 4, 1, value)
    path.write_bytes(data)


@pytest.mark.parametrize("ending", [kind.extensions[0] for kind in FORMATS.values() if kind.name != "clip"])
def test_a_header_that_claims_too_much(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"quay{ending}"
    sized(path, 50000, 42950)  # 2**31 pixels
    assert "50000 x 42950 pixels, over the limit of 268,435,456" in refused(path)
    sized(path, 16000, 16000)  # as many as there may be, in a file of some kilobytes
    if ending == ".webp":  # a plain one takes 34 bytes whatever its size
        assert "16000 x 16000 pixels in a file of" in (told := refused(path))
        assert told.endswith("bytes, over the limit; check it, or save it as PNG")
        return
    assert refused(path) == "its header claims more than the file can hold: it is cut short; copy it again"


def test_pixels_within_the_limit_whose_bytes_are_not(tmp_path: Path) -> None:
    with pytest.raises(FrameError, match=r"take 4.0 GB, over the limit of 2 GB; save it at less depth"):
        limits.possible(tmp_path, 2**14, 2**14, 16)
    assert limits.possible(tmp_path, 2**14, 2**14, 8) == limits.MOST_BYTES


@pytest.mark.parametrize("compression", ["zlib", "lzw", "zstd", "lzma", "packbits"])
def test_a_plain_picture_compresses_well_and_is_no_bomb(tmp_path: Path, compression: str) -> None:
    black = np.zeros((2000, 2000, 3), np.uint16)
    tifffile.imwrite(tmp_path / "a.tif", black, photometric="rgb", compression=compression, rowsperstrip=2000)
    assert probe(tmp_path / "a.tif").width == 2000


@pytest.mark.parametrize("compression", ["rle", "zips", "zip", "piz", "pxr24", "b44a", "dwaa", "dwab"])
def test_nor_are_plain_ones_of_other_formats(tmp_path: Path, compression: str) -> None:
    spec = oiio.ImageSpec(2000, 500, 3, oiio.HALF)
    spec.attribute("compression", compression)
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(tmp_path / "a.exr"), spec)
    assert out.write_image(np.zeros((500, 2000, 3), np.float16))
    assert out.close()
    assert read(tmp_path / "a.exr").width == 2000
    Image.new("RGB", (4000, 3000)).save(tmp_path / "a.png", compress_level=9)
    Image.new("RGB", (4000, 3000)).save(tmp_path / "a.jpg", progressive=True, optimize=True, quality=5)
    assert probe(tmp_path / "a.png").width == probe(tmp_path / "a.jpg").width == 4000


def png(*chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG with chunks in front of its picture."""
    file = io.BytesIO()
    Image.fromarray(PHOTO).save(file, "PNG")
    whole = file.getvalue()
    put = [
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in chunks
    ]
    return whole[:33] + b"".join(put) + whole[33:]


BOMB = zlib.compress(bytes(2**25), 9)
"""32 MB in 32 kB."""


@pytest.mark.parametrize(
    ("kind", "body"),
    [(b"iCCP", b"a\0\0"), (b"zTXt", b"a\0\0"), (b"iTXt", b"a\0\1\0\0\0")],
)
def test_metadata_that_unpacks_to_too_much(tmp_path: Path, kind: bytes, body: bytes) -> None:
    (path := tmp_path / "a.png").write_bytes(png((kind, body + BOMB)))
    told = f"the chunk {kind.decode()} holds more than 16 MB, over the limit; save the picture without it"
    assert refused(path) == told
    path.write_bytes(png(*[(kind, body + zlib.compress(bytes(2**23)))] * 9))
    assert "more than 64 MB or 65,536 pieces of metadata, over the limit" in refused(path)


def test_too_many_pieces_of_metadata(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MOST_BLOCKS", 100)
    (path := tmp_path / "a.png").write_bytes(png(*[(b"tEXt", b"a\0")] * 99))
    assert read(path).width == 60  # with IEND
    path.write_bytes(png(*[(b"tEXt", b"a\0")] * 100))
    assert "100 pieces of metadata" in refused(path)


def test_a_file_without_end_is_not_read_whole(tmp_path: Path) -> None:
    for name in ("a.png", "b.dpx", "c.jpg", "d.tif", "e.exr"):
        path = tmp_path / name
        saved(path)
        before = read(path).pixels
        os.truncate(path, 2**37)  # a hole: it takes no room on disk
        if name in ("a.png", "c.jpg", "e.exr"):
            assert refused(path) == "the file is far larger than its picture; save the picture again by itself"
        elif name == "b.dpx":
            with pytest.raises(FrameError, match="over 64 MB follow the picture"):
                read(path)
        else:
            np.testing.assert_array_equal(read(path).pixels, before)


def test_a_dpx_whose_picture_begins_far_behind_its_header(tmp_path: Path) -> None:
    data = saved(path := tmp_path / "a.dpx")
    struct.pack_into(">I", data, 808, 2**31)
    path.write_bytes(data)
    os.truncate(path, 2**33)
    assert refused(path) == "its header holds more than 16 MB, over the limit; save the picture without it"


def test_a_jpeg_of_very_many_scans(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    Image.fromarray(PHOTO).save(path, progressive=True)
    data = path.read_bytes()
    assert read(path).width == 60
    scan = data[data.rindex(b"\xff\xda") : -2]
    path.write_bytes(data[:-2] + scan * 100 + data[-2:])
    assert refused(path) == "the JPEG has more than 100 scans, over the limit; save it again"


def test_tiff_directories_in_a_circle_or_without_end(tmp_path: Path) -> None:
    head, last = struct.pack("<2sHI", b"II", 42, 8), struct.Struct("<HHHIII")
    path = tmp_path / "a.tif"
    path.write_bytes(head + last.pack(1, 256, 3, 1, 1, 8))
    assert refused(path) == "the directories of the TIFF go round in a circle; copy it again"
    path.write_bytes(head + b"".join(last.pack(1, 256, 3, 1, 1, 8 + 18 * number) for number in range(1, 1100)))
    assert refused(path) == "the TIFF holds more than 1024 directories, over the limit; save one page a file"


@pytest.mark.parametrize("linked", [False, True])
def test_several_subifds_are_no_circle(tmp_path: Path, linked: bool) -> None:
    """TIFF Technical Note 1: SubIFDs are listed by one tag; libtiff also links each to the next, as IFDs are."""
    path, order = tmp_path / "a.tif", "<"
    with tifffile.TiffWriter(path, byteorder=order) as tif:
        tif.write(PHOTO, photometric="rgb", metadata=None, subifds=3)
        for step in (2, 4, 8):
            tif.write(PHOTO[::step, ::step], photometric="rgb", metadata=None, subfiletype=1)
    with tifffile.TiffFile(path) as tif:
        places = tif.pages[0].subifds
    assert len(places) == 3
    if linked:
        data = bytearray(path.read_bytes())
        for place, after in pairwise(places):
            (count,) = struct.unpack_from("<H", data, place)
            struct.pack_into("<I", data, place + 2 + 12 * count, after)
        path.write_bytes(data)
    np.testing.assert_array_equal(np.asarray(Image.open(path)), PHOTO)
    np.testing.assert_array_equal(read(path).pixels, PHOTO)


def test_uncompressed_subsampled_ycbcr_is_refused_for_what_it_is(tmp_path: Path) -> None:
    """TIFF 6.0 section 21: 2 by 2 pixels take 4 luma and 2 chroma samples. libtiff, by OpenImageIO, reads the file."""
    path, width, height = tmp_path / "a.tif", 60, 40
    stored = bytes(width * height * 3 // 2)
    short, long = struct.Struct("<HHIHxx"), struct.Struct("<HHII")
    tags = [short.pack(256, 3, 1, width), short.pack(257, 3, 1, height), long.pack(258, 3, 3, 200)]
    tags += [short.pack(259, 3, 1, 1), short.pack(262, 3, 1, 6), long.pack(273, 4, 1, 206), short.pack(277, 3, 1, 3)]
    tags += [short.pack(278, 3, 1, height), long.pack(279, 4, 1, len(stored)), struct.pack("<HHIHH", 530, 3, 2, 2, 2)]
    head = struct.pack("<2sHIH", b"II", 42, 8, len(tags)) + b"".join(tags)
    path.write_bytes(head.ljust(200, b"\0") + struct.pack("<3H", 8, 8, 8) + stored)
    assert oiio.ImageInput.open(str(path)).read_image("uint8").shape == (height, width, 3)
    assert refused(path) == "the TIFF holds YCbCr, which poise doesn't correct; save it as grey or RGB"
    os.truncate(path, 206 + 60 * 39)
    assert refused(path) == "its header claims more than the file can hold: it is cut short; copy it again"


def test_a_tag_or_an_attribute_that_claims_gigabytes(tmp_path: Path) -> None:
    saved(path := tmp_path / "a.tif")
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as tif:
        struct.pack_into("<HHI", data, tif.pages[0].tags["XResolution"].offset, 700, 1, 2**31)
    path.write_bytes(data)
    os.truncate(path, 2**33)
    assert "the tag 700 holds more than 16 MB" in refused(path)
    data = saved(path := tmp_path / "a.exr")
    struct.pack_into("<I", data, data.index(b"compression\0compression\0") + 24, 2**31)
    path.write_bytes(data)
    claims = "the attribute compression claims 2,147,483,648 bytes, more than the file holds"
    assert refused(path) == f"{claims}; its header is damaged or cut short, copy it again"
    os.truncate(path, 2**33)
    assert "the attribute compression holds more than 16 MB" in refused(path)


@pytest.mark.parametrize(
    ("at", "value", "what"),
    [
        (b"\x76\x2f\x31\x01", 9, "its header says version 9, and OpenEXR has 2; it is damaged, copy it again"),
        (
            b"dataWindow\0box2i\0\x10\0\0",
            200,
            "the attribute dataWindow claims 3,355,443,216 bytes, more than the file",
        ),
        (b"channels\0chlist\0" + bytes([19 + 2 * 18, 0, 0, 0]) + b"B\0", 7, "its list of channels is damaged"),
    ],
)
def test_a_damaged_header_is_called_that(tmp_path: Path, at: bytes, value: int, what: str) -> None:
    data = saved(path := tmp_path / "a.exr")
    place = data.index(at) + len(at)
    data[place] = value
    path.write_bytes(data)
    assert what in refused(path)


def test_every_length_in_a_header_that_is_damaged(tmp_path: Path) -> None:
    """Any byte of the header at any of some values: the reason is never a limit that the file doesn't reach."""
    data = saved(path := tmp_path / "a.exr")
    end = data.index(b"screenWindowWidth\0float\0") + 24 + 8
    for place in range(4, end):
        for value in {0, 1, 65, 127, 128, 255} - {data[place]}:
            path.write_bytes(data[:place] + bytes([value]) + data[place + 1 :])
            assert "holds more than" not in reason(path), (place, value)


def reason(path: Path) -> str:
    try:
        guard(path, "exr")
    except FrameError as fault:
        return fault.reason
    return ""


def test_an_attribute_of_another_type_is_not_taken_for_its_default(tmp_path: Path) -> None:
    data = saved(path := tmp_path / "a.exr")
    path.write_bytes(data.replace(b"compression\0compression\0", b"compression\0compressIon\0"))
    assert refused(path) == "its attribute compression is damaged; copy it again"


def test_tiles_far_larger_than_the_picture(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, PHOTO, photometric="rgb", tile=(16, 16), compression="zlib", metadata=None)
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as tif:
        for name in ("TileWidth", "TileLength"):
            struct.pack_into("<HII", data, tif.pages[0].tags[name].offset + 2, 4, 1, 16000)
    path.write_bytes(data)
    assert refused(path) == "its tiles are far larger than its picture; it is damaged, copy it again"


@pytest.mark.parametrize("name", ["quay:1{}", "quay.%04d{}", "http:quay{}", "quay?subimage=1{}", "quay.####{}", "-{}"])
def test_a_name_is_a_name_and_no_address(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """A path that a library might take for a part, a pattern, options or an address is opened as it stands."""
    monkeypatch.chdir(tmp_path)
    for kind in FORMATS.values():
        path = Path(name.format(kind.extensions[0]))
        saved(path)
        assert read(path).width == 60
        assert os.listdir(".") == [path.name]
        path.unlink()


def test_a_profile_with_an_error_reaches_no_terminal(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """libpng warns of a profile of a wrong length by itself."""
    (path := tmp_path / "a.png").write_bytes(png((b"iCCP", b"a\0\0" + zlib.compress(b"profile" * 30))))
    assert read(path).icc == b"profile" * 30
    assert capfd.readouterr() == ("", "")
