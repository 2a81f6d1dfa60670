"""TIFF against Pillow, imageio and OpenImageIO, which share no code with the writer."""

import struct
from dataclasses import replace
from pathlib import Path
from typing import Any

import imagecodecs
import imageio.v3 as iio
import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
import tifffile
from PIL import Image

from poise.errors import FrameError
from poise.frames import Depth, Frame, probe, read, write

PHOTO = skimage.data.astronaut()[100:228, 150:300]
DEEP = PHOTO.astype(np.uint16) * 257
GREY = PHOTO[..., 0]


def tags(path: Path) -> dict[str, Any]:
    with tifffile.TiffFile(path) as tif:
        return {tag.name: tag.value for tag in tif.pages[0].tags}


@pytest.mark.parametrize("compression", [None, "lzw", "zlib", "zstd", "packbits", "lzma"])
@pytest.mark.parametrize("predictor", [False, True])
@pytest.mark.parametrize("tile", [None, (32, 48)])
def test_how_a_file_is_stored_is_kept(
    tmp_path: Path, compression: str | None, predictor: bool, tile: tuple[int, int] | None
) -> None:
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    predictor = predictor and compression in ("lzw", "zlib", "zstd")
    tifffile.imwrite(one, DEEP, photometric="rgb", compression=compression, predictor=predictor, tile=tile)
    write(two, read(one))
    before, after = tags(one), tags(two)
    for name in ("Compression", "Predictor", "TileWidth", "TileLength", "RowsPerStrip", "BitsPerSample"):
        assert after.get(name) == before.get(name), name
    np.testing.assert_array_equal(tifffile.imread(two), DEEP)
    if compression not in ("lzma", "zstd"):  # not every build of the others has these
        source = oiio.ImageInput.open(str(two))
        np.testing.assert_array_equal(source.read_image(0, 0, 0, 3, "uint16"), DEEP)


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("bigtiff", [False, True])
@pytest.mark.parametrize("planar", ["contig", "separate"])
@pytest.mark.parametrize("dtype", ["uint8", "uint16", "float16", "float32"])
def test_byte_order_planes_and_bigtiff(tmp_path: Path, byteorder: str, bigtiff: bool, planar: str, dtype: str) -> None:
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    pixels = PHOTO.astype(dtype)
    stored = pixels if planar == "contig" else np.ascontiguousarray(np.moveaxis(pixels, 2, 0))
    tifffile.imwrite(one, stored, photometric="rgb", planarconfig=planar, byteorder=byteorder, bigtiff=bigtiff)
    frame = read(one)
    np.testing.assert_array_equal(frame.pixels, pixels)
    assert frame.pixels.dtype.isnative
    write(two, frame)
    assert two.read_bytes()[:4] == one.read_bytes()[:4]
    assert tags(two)["PlanarConfiguration"] == tags(one)["PlanarConfiguration"]
    np.testing.assert_array_equal(tifffile.imread(two), stored)
    if dtype != "float16":  # OpenImageIO reads TIFF half as float
        np.testing.assert_array_equal(oiio.ImageInput.open(str(two)).read_image(0, 0, 0, 3, dtype), pixels)


def test_independent_readers_see_the_same(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, PHOTO, photometric="rgb", compression="zlib")
    write(path, read(path))
    np.testing.assert_array_equal(np.asarray(Image.open(path)), PHOTO)
    tifffile.imwrite(path, DEEP[..., 0], photometric="minisblack")
    write(path, read(path))
    np.testing.assert_array_equal(np.asarray(Image.open(path)), DEEP[..., 0])
    np.testing.assert_array_equal(iio.imread(path, plugin="pillow"), DEEP[..., 0])


def test_metadata_is_kept(tmp_path: Path) -> None:
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"
    extra = [(274, "H", 1, 6, True), (700, "B", len(xmp), xmp, True), (315, "s", 0, "Ann of the ferry", True)]
    tifffile.imwrite(
        one,
        DEEP,
        photometric="rgb",
        metadata=None,
        description="quay, morning",
        datetime="2026:11:25 10:00:00",
        software="a camera",
        resolution=(300, 299),
        resolutionunit="CENTIMETER",
        iccprofile=b"profile" * 40,
        extratags=extra,
    )
    frame = read(one)
    assert frame.icc == b"profile" * 40
    write(two, frame)
    before, after = tags(one), tags(two)
    kept = ("ImageDescription", "DateTime", "Software", "Artist", "XMP", "Orientation", "InterColorProfile")
    for name in (*kept, "XResolution", "YResolution", "ResolutionUnit"):
        assert after[name] == before[name], name
    assert set(after) == set(before)


def test_another_depth_keeps_the_rest(tmp_path: Path) -> None:
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    tifffile.imwrite(
        one, DEEP, photometric="rgb", compression="zlib", predictor=True, description="quay", metadata=None
    )
    frame = read(one)
    write(two, replace(frame, pixels=(frame.pixels / 65535).astype(np.float16), depth=Depth.HALF))
    assert tags(two)["ImageDescription"] == "quay"
    assert tags(two)["Predictor"] == 3  # Adobe TIFF Technical Note 3: floating point prediction
    assert read(two).depth is Depth.HALF


@pytest.mark.parametrize(("extra", "code"), [("unassalpha", 2), ("unspecified", 0), ("assocalpha", 1)])
def test_alpha_is_kept_as_declared(tmp_path: Path, extra: str, code: int) -> None:
    path = tmp_path / "a.tif"
    rgba = np.dstack([DEEP, DEEP[..., :1] // 2])
    tifffile.imwrite(path, rgba, photometric="rgb", extrasamples=[extra])
    write(path, read(path))
    assert tuple(tags(path)["ExtraSamples"]) == (code,)
    np.testing.assert_array_equal(tifffile.imread(path), rgba)


@pytest.mark.parametrize("kind", ["f2", "f4"])
def test_floats_under_a_horizontal_predictor(tmp_path: Path, kind: str) -> None:
    """TIFF 6.0 section 14 differences whole numbers; OpenImageIO (libtiff) does it to the bits of floats."""
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    pixels = (PHOTO / 255).astype(kind)
    tifffile.imwrite(one, pixels, photometric="rgb", compression="zlib", predictor=True, metadata=None)
    frame = read(one)
    storage = replace(frame.carry["storage"], predictor=2)
    write(two, replace(frame, carry=dict(frame.carry) | {"storage": storage}))
    assert (tags(two)["Predictor"], tags(two)["SampleFormat"]) == (2, (3, 3, 3))
    np.testing.assert_array_equal(oiio.ImageInput.open(str(two)).read_image(0, 0, 0, 3, "float"), pixels.astype("f4"))
    np.testing.assert_array_equal(read(two).pixels, pixels)


def test_min_is_white_is_read_as_light_and_written_as_it_was(tmp_path: Path) -> None:
    """TIFF 6.0 section 8, PhotometricInterpretation 0: 0 is imaged as white. Pillow turns such files too."""
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    tifffile.imwrite(one, 255 - GREY, photometric="miniswhite", metadata=None)
    frame = read(one)
    np.testing.assert_array_equal(frame.pixels[..., 0], GREY)
    write(two, frame)
    np.testing.assert_array_equal(np.asarray(Image.open(two)), GREY)
    assert tags(two)["PhotometricInterpretation"] == 0
    write(two, replace(frame, pixels=(frame.pixels / 255).astype(np.float32), depth=Depth.FLOAT))
    assert tags(two)["PhotometricInterpretation"] == 1
    np.testing.assert_array_equal(read(two).pixels, (frame.pixels / 255).astype(np.float32))


def test_channels_beyond_alpha_are_kept_or_told(tmp_path: Path) -> None:
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    stored = np.dstack([PHOTO, GREY, 255 - GREY, GREY // 2])
    tifffile.imwrite(one, stored, photometric="rgb", extrasamples=[2, 0, 0], metadata=None)
    frame = read(one)
    assert frame.channels == 4
    assert write(two, replace(frame, pixels=255 - frame.pixels)) == ()
    np.testing.assert_array_equal(tifffile.imread(two), np.dstack([255 - stored[..., :4], stored[..., 4:]]))
    assert tags(two)["ExtraSamples"] == (2, 0, 0)
    notes = write(two, replace(frame, pixels=frame.pixels.astype(np.uint16) * 257, depth=Depth.U16))
    assert notes == ("not kept at another depth: 2 further channels",)
    assert tags(two)["SamplesPerPixel"] == 4


def test_a_preview_page_is_left_out(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    with tifffile.TiffWriter(path) as tif:
        tif.write(PHOTO, photometric="rgb", metadata=None)
        tif.write(PHOTO[::4, ::4], photometric="rgb", subfiletype=1, metadata=None)
    frame = read(path)
    np.testing.assert_array_equal(frame.pixels, PHOTO)
    assert write(path, frame) == ("left out: 1 smaller picture of the uncorrected picture",)


def pad_strips(path: Path, behind: bytes) -> None:
    """Gives every strip or tile of a little-endian TIFF data behind its end, counted as its own."""
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as tif:
        page = tif.pages[0]
        places, counts = [], []
        for place, count in zip(page.dataoffsets, page.databytecounts, strict=True):
            places.append(len(data))
            counts.append(count + len(behind))
            data += data[place : place + count] + behind
        for code, values in ((324 if page.is_tiled else 273, places), (325 if page.is_tiled else 279, counts)):
            letter = {3: "H", 4: "I"}[int(page.tags[code].dtype)]
            struct.pack_into(f"<{len(values)}{letter}", data, page.tags[code].valueoffset, *values)
    path.write_bytes(data)


@pytest.mark.parametrize("compression", [None, "lzw", "zlib", "zstd", "packbits", "lzma"])
@pytest.mark.parametrize("options", [{"rowsperstrip": 30}, {"tile": (32, 48)}], ids=["strips", "tiles"])
def test_data_behind_the_end_of_a_strip_is_no_damage(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], compression: str | None, options: dict[str, Any]
) -> None:
    """libtiff, by OpenImageIO, reads such files; so does every reader that ends where the strip is full."""
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    tifffile.imwrite(one, DEEP, photometric="rgb", compression=compression, metadata=None, byteorder="<", **options)
    pad_strips(one, bytes(range(256)) * 9)
    if compression not in ("lzma", "zstd"):  # which not every build has
        np.testing.assert_array_equal(oiio.ImageInput.open(str(one)).read_image(0, 0, 0, 3, "uint16"), DEEP)
    frame = read(one)
    np.testing.assert_array_equal(frame.pixels, DEEP)
    told = ("its strips hold more data than the picture needs; the rest was ignored",)
    assert write(two, frame) == (told if compression in ("zstd", "packbits", "lzma") else ())
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("compression", ["zstd", "packbits", "lzma"])
def test_a_strip_that_ends_early_stays_damage(tmp_path: Path, compression: str) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, DEEP, photometric="rgb", compression=compression, metadata=None, byteorder="<")
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as tif:
        tag, (count,) = tif.pages[0].tags[279], tif.pages[0].databytecounts
        struct.pack_into("<I", data, tag.offset + 8, count - 40)
    path.write_bytes(data)
    with pytest.raises(FrameError, match="damaged or cut short"):
        read(path)


def packed_by_hand(pixels: np.ndarray, bits: int) -> bytes:
    """TIFF 6.0 section 7: rows begin on whole bytes, the most significant bit of each code first."""
    rows = (pixels.reshape(len(pixels), -1)[..., None] >> np.arange(bits - 1, -1, -1)) & 1
    return np.packbits(rows.reshape(len(pixels), -1).astype(np.uint8), axis=1).tobytes()


@pytest.mark.parametrize("depth", [Depth.U10, Depth.U12, Depth.U14], ids=lambda depth: depth.value)
@pytest.mark.parametrize("compression", [None, "lzw", "zlib", "zstd", "packbits"])
@pytest.mark.parametrize(
    "options",
    [
        {},
        {"rowsperstrip": 7},
        {"tile": (32, 48)},
        {"planarconfig": "separate", "rowsperstrip": 9},
        {"byteorder": ">", "bigtiff": True},
        {"photometric": "miniswhite"},
        {"extrasamples": [2]},
    ],
    ids=["whole", "strips", "tiles", "planes", "big", "min-is-white", "alpha"],
)
def test_packed_bits_are_read_and_written_as_they_were(
    tmp_path: Path, depth: Depth, compression: str | None, options: dict[str, Any]
) -> None:
    one, two = tmp_path / "one.tif", tmp_path / "two.tif"
    deep = np.asarray(DEEP * np.uint16(257) >> (16 - depth.bits), np.uint16)  # codes that use every bit
    options = {"photometric": "rgb", "byteorder": "<"} | options
    planes = "planarconfig" in options
    turned, channels = options["photometric"] == "miniswhite", 1 if "miniswhite" in options.values() else 3
    pixels = np.dstack([deep, deep[::-1, :, :1]]) if "extrasamples" in options else deep[..., :channels]
    stored = depth.maximum - pixels if turned else pixels
    written = np.moveaxis(stored, 2, 0) if planes else stored if channels > 1 else stored[..., 0]
    options |= {"bitspersample": depth.bits, "metadata": None, "software": False}
    if options.get("bigtiff"):
        by_hand = iter([packed_by_hand(stored, depth.bits)])
        tifffile.imwrite(one, by_hand, shape=written.shape, dtype="u2", rowsperstrip=len(stored), **options)
    else:
        tifffile.imwrite(one, written, **options)
    if compression:
        frame = read(one)
        code = tifffile.COMPRESSION[{"zlib": "ADOBE_DEFLATE"}.get(compression, compression.upper())]
        storage = replace(frame.carry["storage"], compression=code)
        write(one, replace(frame, carry=dict(frame.carry) | {"storage": storage}))
    frame = read(one)
    assert (frame.depth, probe(one).depth) == (depth, depth)
    np.testing.assert_array_equal(frame.pixels, pixels)
    assert write(two, frame) == ()
    before, after = tags(one), tags(two)
    for places in ("StripOffsets", "TileOffsets"):
        assert (places in before) == (places in after)
        before[places] = after[places] = None
    assert after == before
    assert before["BitsPerSample"] in (depth.bits, (depth.bits,) * pixels.shape[2])
    np.testing.assert_array_equal(tifffile.imread(two), written)
    if compression != "zstd" and not turned:  # which not every build has
        np.testing.assert_array_equal(by_libtiff(two, depth.bits, bool(compression), planes), written)
    if compression is None and not turned | planes and "tile" not in options:
        with tifffile.TiffFile(two) as tif:
            strips = list(zip(tif.pages[0].dataoffsets, tif.pages[0].databytecounts, strict=True))
        data = two.read_bytes()
        assert b"".join(data[at : at + count] for at, count in strips) == packed_by_hand(stored, depth.bits)


def by_libtiff(path: Path, bits: int, compressed: bool, planes: bool) -> np.ndarray:
    """OpenImageIO gives such codes in the top bits of 16; it reads no compressed planes of them, imagecodecs does."""
    if compressed and planes:
        return np.asarray(imagecodecs.tiff_decode(path.read_bytes()))
    straight = oiio.ImageSpec()
    straight.attribute("oiio:UnassociatedAlpha", 1)
    source = oiio.ImageInput.open(str(path), straight)
    found = source.read_image(0, 0, 0, source.spec().nchannels, "uint16") >> (16 - bits)
    return np.moveaxis(found, 2, 0) if planes else found


def test_pillow_reads_grey_of_12_bit_as_it_was_written(tmp_path: Path) -> None:
    path, grey = tmp_path / "a.tif", DEEP[..., 0] >> 4
    tifffile.imwrite(path, grey, photometric="minisblack", bitspersample=12, metadata=None)
    write(path, read(path))
    np.testing.assert_array_equal(np.asarray(Image.open(path)), grey)


def test_a_depth_that_few_programs_read_is_told_where_it_is_new(tmp_path: Path) -> None:
    frame = Frame(np.asarray(DEEP >> 6, np.uint16), Depth.U10)
    note = "written as TIFF of 10 bit, which many programs can't read; --depth 16 is read by all"
    assert write(tmp_path / "a.tif", frame) == (note,)
    found = oiio.ImageInput.open(str(tmp_path / "a.tif")).read_image(0, 0, 0, 3, "uint16")
    np.testing.assert_array_equal(found >> 6, frame.pixels)


def test_packed_bits_under_a_predictor_are_refused(tmp_path: Path) -> None:
    """libtiff knows horizontal differencing of 8, 16, 32 and 64 bits alone, so such a file means nothing certain."""
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, DEEP >> 4, photometric="rgb", bitspersample=12, metadata=None, extratags=[(65000, 3, 1, 2)])
    with tifffile.TiffFile(path) as tif:
        place = tif.pages[0].tags[65000].offset
    data = bytearray(path.read_bytes())
    struct.pack_into("<H", data, place, 317)
    path.write_bytes(data)
    for use in (read, probe):
        with pytest.raises(FrameError, match="values of 12 bit under a predictor"):
            use(path)


REFUSED: list[tuple[str, Any, dict[str, Any]]] = [
    ("float values stored as min-is-white", GREY.astype(np.float32), {"photometric": "miniswhite"}),
    ("a palette", GREY, {"photometric": "palette", "colormap": np.zeros((3, 256), np.uint16)}),
    ("CMYK", np.dstack([PHOTO, GREY]), {"photometric": "separated"}),
    ("black and white of 1 bit", GREY > 99, {"photometric": "minisblack"}),
    ("unsigned values of 32 bit", GREY.astype(np.uint32), {"photometric": "minisblack"}),
    ("signed values of 16 bit", GREY.astype(np.int16), {"photometric": "minisblack"}),
    ("float values of 64 bit", GREY.astype(np.float64), {"photometric": "minisblack"}),
    (
        "premultiplied (associated) alpha behind another channel",
        np.dstack([PHOTO, GREY, GREY]),
        {"photometric": "rgb", "extrasamples": [0, 1]},
    ),
    (
        "premultiplied (associated) alpha stored as min-is-white",
        np.dstack([GREY, GREY]),
        {"photometric": "miniswhite", "extrasamples": [1]},
    ),
    ("17 channels", np.dstack([PHOTO, *[GREY] * 14]), {"photometric": "rgb", "extrasamples": [0] * 14}),
    ("JPEG compression", GREY, {"photometric": "minisblack", "compression": "jpeg"}),
    ("YCbCr", PHOTO, {"photometric": "ycbcr", "compression": "jpeg"}),
    ("3 pages", np.stack([GREY] * 3), {"photometric": "minisblack"}),
]


@pytest.mark.parametrize(("what", "pixels", "options"), REFUSED, ids=[what for what, _, _ in REFUSED])
def test_refused_by_name(tmp_path: Path, what: str, pixels: Any, options: dict[str, Any]) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, pixels, metadata=None, **options)
    for use in (read, probe):
        with pytest.raises(FrameError) as told:
            use(path)
        assert what in told.value.reason


def test_a_header_of_impossible_size_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, PHOTO, photometric="rgb", metadata=None, byteorder="<")
    data = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as tif:
        spots = [tif.pages[0].tags[name] for name in ("ImageWidth", "ImageLength")]
    for tag in spots:
        struct.pack_into("<HII", data, tag.offset + 2, 4, 1, 60000)
    path.write_bytes(data)
    with pytest.raises(FrameError, match="60000 x 60000 pixels, over the limit of 268,435,456"):
        read(path)
