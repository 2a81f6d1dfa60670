"""TIFF through the batch: every tag as tifffile and Pillow find it, and every channel beside the colour.

The only differences are the pixels and the stamp in Software, or what is told in a note.
"""

import struct
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
import tifffile
from blocks import DARKER, HALVED, applied, differences, halved, picture
from PIL import Image
from tiff_blocks import Tag, blocks, build

from poise.correction import NEUTRAL, Encoding
from poise.frames import read, write

Array = np.ndarray[Any, Any]
SOFTWARE = "305 Software"
XMP = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>the quay, early</x:xmpmeta>"
MAKER_NOTE = b"HarbourCam\0" + bytes(range(256)) * 3
ICC = b"\0\0\2\0harb" + bytes(504)


def texts() -> list[Tag]:
    words = {269: "quay.tif", 270: "The quay, caf\xe9", 271: "Harbour", 272: "Model 1", 285: "page", 315: "Ann"}
    words |= {306: "2026:11:25 10:00:00", 316: "the render box", 33432: "(c) the harbour town", 305: "a camera 1.0"}
    return [(code, 2, text.encode("latin-1") + b"\0") for code, text in words.items()]


def described(order: str, pointer: int = 4) -> list[Tag]:
    """All kinds of description that a camera and an archive put into a TIFF."""

    def pack(kinds: str, *values: float) -> bytes:
        return struct.pack(order + kinds, *values)

    interoperability = ((1, 2, b"R98\0"), (2, 7, b"0100"))
    exif = (
        (33434, 5, pack("II", 1, 250)),  # ExposureTime
        (33437, 5, pack("II", 28, 10)),  # FNumber
        (34855, 3, pack("H", 400)),
        (36864, 7, b"0232"),
        (36867, 2, b"2026:11:25 10:00:00\0"),
        (37380, 10, pack("ii", -2, 3)),  # ExposureBiasValue
        (37500, 7, MAKER_NOTE),
        (37510, 7, b"ASCII\0\0\0a ferry"),
        (40965, pointer, interoperability),
        (42034, 5, pack("8I", 24, 1, 70, 1, 28, 10, 28, 10)),  # LensSpecification
    )
    gps = ((0, 1, bytes((2, 3, 0, 0))), (1, 2, b"N\0"), (2, 5, pack("6I", 54, 1, 30, 1, 1234, 100)))
    other = [(700, 1, XMP), (33723, 7, b"\x1c\x02\x05\0\4quay"), (34377, 1, b"8BIM\4\4\0\0\0\0\0\0"), (34675, 7, ICC)]
    other += [
        (274, 3, pack("H", 6)),
        (282, 5, pack("II", 300, 1)),
        (283, 5, pack("II", 299, 1)),
        (296, 3, pack("H", 3)),
    ]
    other += [(34665, pointer, exif), (34853, pointer, gps), (297, 3, pack("2H", 0, 1)), (254, 4, pack("I", 0))]
    return texts() + other


def private(order: str, big: bool) -> list[Tag]:
    """Unknown tags of every type, inline and not, and a directory of an unknown kind."""
    kinds = {1: "B", 2: "c", 3: "H", 4: "I", 5: "2I", 6: "b", 7: "c", 8: "h", 9: "i", 10: "2i", 11: "f", 12: "d"}
    if big:
        kinds |= {16: "Q", 17: "q"}
    tags: list[Tag] = []
    for kind, letters in kinds.items():
        size = struct.calcsize("<" + letters)
        for count in (1, 9):
            tags.append(
                (65000 + 2 * kind + (count > 1), kind, bytes((i * 7 + kind) % 64 + 1 for i in range(size * count)))
            )
    return [*tags, (65100, 18 if big else 13, ((1, 3, struct.pack(f"{order}H", 7)), (2, 2, b"in the harbour\0")))]


CASES: dict[str, dict[str, Any]] = {
    "rgb-8": {"kind": "u1"},
    "rgb-16-big-endian": {"byteorder": ">"},
    "bigtiff": {"bigtiff": True},
    "bigtiff-big-endian-tiles": {"bigtiff": True, "byteorder": ">", "tile": (16, 32), "compression": "zlib"},
    "lzw-strips": {"compression": "lzw", "rowsperstrip": 5},
    "lzw-predictor": {"compression": "lzw", "predictor": True, "rowsperstrip": 7},
    "deflate-of-old": {"compression": 32946, "predictor": True},
    "zstd": {"compression": "zstd", "predictor": True},
    "packbits": {"compression": "packbits", "kind": "u1"},
    "lzma": {"compression": "lzma", "tile": (32, 16)},
    "planes": {"planarconfig": "separate", "rowsperstrip": 9},
    "planes-in-tiles": {"planarconfig": "separate", "tile": (16, 16), "compression": "zlib", "byteorder": ">"},
    "grey-8": {"kind": "u1", "channels": 1},
    "grey-alpha-16": {"channels": 2, "extrasamples": [2]},
    "rgba-16": {"channels": 4, "extrasamples": [2], "compression": "zlib"},
    "rgba-unspecified-8": {"kind": "u1", "channels": 4, "extrasamples": [0]},
    "seven-channels": {"channels": 7, "extrasamples": [2, 0, 0, 0], "tile": (16, 16)},
    "seven-planes": {"channels": 7, "extrasamples": [0, 2, 0, 0], "planarconfig": "separate", "kind": "u1"},
    "min-is-white-8": {"kind": "u1", "channels": 1, "photometric": "miniswhite"},
    "min-is-white-16": {"channels": 1, "photometric": "miniswhite", "byteorder": ">", "compression": "lzw"},
    "min-is-white-alpha": {"channels": 2, "photometric": "miniswhite", "extrasamples": [2]},
    "half": {"kind": "f2", "compression": "zlib", "predictor": True},
    "half-big-endian-alpha": {"kind": "f2", "channels": 4, "extrasamples": [2], "byteorder": ">"},
    "float": {"kind": "f4"},
    "float-predictor-tiles": {
        "kind": "f4",
        "compression": "zlib",
        "predictor": True,
        "tile": (16, 16),
        "bigtiff": True,
    },
}


@pytest.mark.parametrize("name", CASES)
def test_storage_and_channels(tmp_path: Path, name: str) -> None:
    options = {"photometric": "rgb" if CASES[name].get("channels", 3) > 2 else "minisblack"} | CASES[name]
    kind, channels = np.dtype(options.pop("kind", "u2")), options.pop("channels", 3)
    source, base = tmp_path / f"{name}.tif", 3 if channels > 2 else 1
    pixels = picture(kind, channels)
    pixels[:9, :, base:] = 0  # colour under an alpha of 0 is colour
    separate = options.get("planarconfig") == "separate"
    stored = np.ascontiguousarray(np.moveaxis(pixels, 2, 0)) if separate else pixels if channels > 1 else pixels[..., 0]
    tifffile.imwrite(source, stored, metadata=None, software="a scanner", description="quay", **options)
    output, notes, stamp = applied(source, DARKER if kind.kind == "f" else HALVED)
    assert notes == ()
    before, after = blocks(source), blocks(output)
    said = f"a scanner; {stamp}\0".encode()
    assert differences(before, after) == {SOFTWARE: (before[SOFTWARE], (2, len(said), said))}
    found = tifffile.imread(output)
    found = np.moveaxis(found, 0, 2) if separate else found.reshape(pixels.shape)
    np.testing.assert_array_equal(found[..., base:], pixels[..., base:])
    colour, made = pixels[..., :base], found[..., :base]
    if options["photometric"] == "miniswhite":
        colour, made = ~colour, ~made
    if kind.kind == "f":
        assert made.dtype == kind
        np.testing.assert_allclose(made, colour / 2, rtol=2e-3 if kind.itemsize == 2 else 1e-5)
    else:
        halved(colour, made)


@pytest.mark.parametrize("bits", [10, 12, 14])
@pytest.mark.parametrize("channels", [1, 3, 4])
def test_packed_bits(tmp_path: Path, bits: int, channels: int) -> None:
    """Corrected by the formula at their own depth; OpenImageIO (libtiff) gives such codes in the top bits of 16."""
    source = tmp_path / "a.tif"
    pixels = picture("u2", channels) >> (16 - bits)
    options: dict[str, Any] = {"photometric": "rgb" if channels > 2 else "minisblack", "rowsperstrip": 7}
    options |= {"extrasamples": [2]} if channels == 4 else {}
    stored = pixels if channels > 1 else pixels[..., 0]
    tifffile.imwrite(source, stored, bitspersample=bits, metadata=None, software="a scanner", **options)
    output, notes, stamp = applied(source, HALVED)
    assert notes == ()
    said = f"a scanner; {stamp}\0".encode()
    assert differences(blocks(source), blocks(output)) == {SOFTWARE: ((2, 10, b"a scanner\0"), (2, len(said), said))}
    straight = oiio.ImageSpec()
    straight.attribute("oiio:UnassociatedAlpha", 1)
    found = oiio.ImageInput.open(str(output), straight).read_image(0, 0, 0, channels, "uint16") >> (16 - bits)
    base = min(channels, 3)
    halved(pixels[..., :base], found[..., :base])
    np.testing.assert_array_equal(found[..., base:], pixels[..., base:])
    sixteen, _, _ = applied(source, HALVED, depth="16")
    found = tifffile.imread(sixteen).reshape(pixels.shape)
    wanted = np.floor(pixels[..., :base] / (2**bits - 1) / 2 * 65535 + 0.5)
    assert np.abs(found[..., :base] - wanted).max() <= 1
    if channels == 4:
        assert np.abs(found[..., 3] - np.rint(pixels[..., 3] / (2**bits - 1) * 65535)).max() <= 1


def test_straight_alpha_as_another_library_reads_it(tmp_path: Path) -> None:
    source = tmp_path / "a.tif"
    pixels = picture("u2", 4)
    pixels[:18, :, 3] = 0
    tifffile.imwrite(source, pixels, photometric="rgb", extrasamples=[2], metadata=None)
    output, _, _ = applied(source)
    straight = oiio.ImageSpec()
    straight.attribute("oiio:UnassociatedAlpha", 1)
    opened = oiio.ImageInput.open(str(output), straight)
    found = opened.read_image(0, 0, 0, 4, "uint16")
    assert opened.spec().get_int_attribute("oiio:UnassociatedAlpha") == 1
    halved(pixels[..., :3], found[..., :3])
    np.testing.assert_array_equal(found[..., 3], pixels[..., 3])


@pytest.mark.parametrize("stamp", [True, False])
@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("big", [False, True])
def test_every_tag_and_directory(tmp_path: Path, order: str, big: bool, stamp: bool) -> None:
    source = build(
        tmp_path / "a.tif", described(order, 16 if big else 4) + private(order, big), picture("u2", 3), order, big
    )
    before = blocks(source)
    assert before["Exif 37500"] == (7, MAKER_NOTE)
    assert before["Exif interoperability 1"] == (2, b"R98\0")
    assert len(before) > 60
    output, notes, said = applied(source, stamp=stamp)
    assert notes == ()
    after = blocks(output)
    assert list(differences(before, after)) == [SOFTWARE] * stamp
    assert after[SOFTWARE][2] == (f"a camera 1.0; {said}\0".encode() if stamp else b"a camera 1.0\0")
    halved(tifffile.imread(source), tifffile.imread(output))


def counted_from_the_start(path: Path) -> bytes:
    """What a MakerNote that counts from the start of the file leads to: seven bytes at the place that it names."""
    data = path.read_bytes()
    at = data.index(b"HarbourCam") + 10
    (place,) = struct.unpack_from("<I", data, at)
    return data[place : place + 7]


@pytest.mark.parametrize("where", ["ahead of the pixels", "behind the pixels", "far behind the pixels"])
def test_a_maker_note_keeps_its_place_or_it_is_told(tmp_path: Path, where: str) -> None:
    source, pixels = tmp_path / "a.tif", picture("u2", 3, 600, 600) if where.startswith("far") else picture("u1", 3)
    note = b"HarbourCam" + bytes(4) + b"the quay" * 20 + b"lantern"
    build(source, [*texts(), (34665, 4, ((36864, 7, b"0232"), (37500, 7, note)))], pixels)
    data = bytearray(source.read_bytes())
    if where.startswith("ahead"):
        with tifffile.TiffFile(source) as tif:
            struct.pack_into("<I", data, tif.pages[0].tags[273].valueoffset, len(data))
        data += pixels.tobytes()
    struct.pack_into("<I", data, data.index(b"HarbourCam") + 10, data.index(b"lantern"))
    source.write_bytes(data)
    assert counted_from_the_start(source) == b"lantern"
    before = blocks(source)["Exif 37500"]
    with tifffile.TiffFile(source) as tif:
        assert (data.index(b"HarbourCam") < tif.pages[0].dataoffsets[0]) == where.startswith("ahead")
    output, notes, _ = applied(source, stamp=False)
    after = blocks(output)["Exif 37500"]
    assert after[1][14:] == before[1][14:]
    if where.startswith("far"):
        told = "its MakerNote had to move; offsets in it that count from the start of the file are wrong"
        assert notes == (told,)
        assert counted_from_the_start(output) != b"lantern"
    else:
        assert notes == ()
        assert counted_from_the_start(output) == b"lantern"
        assert after == before
    halved(pixels, tifffile.imread(output))


def test_a_file_that_outgrows_four_gigabytes_becomes_a_bigtiff_with_the_same_tags(tmp_path: Path) -> None:
    """As deeper outputs of large pictures do; here it is asked for, on a small one."""
    source = build(tmp_path / "a.tif", described("<") + private("<", False), picture("u2", 3))
    frame, output = read(source), tmp_path / "b.tif"
    storage = replace(frame.carry["storage"], big=True)
    assert write(output, replace(frame, carry=dict(frame.carry) | {"storage": storage})) == ()
    assert differences(blocks(source), blocks(output)) == {"head": (b"II*\0", b"II+\0")}
    np.testing.assert_array_equal(tifffile.imread(output), tifffile.imread(source))


def test_exif_as_another_library_reads_it(tmp_path: Path) -> None:
    source = build(tmp_path / "a.tif", described("<"), picture("u1", 3))
    output, _, _ = applied(source)
    with Image.open(source) as one, Image.open(output) as two:
        before, after = (dict(opened.getexif().get_ifd(0x8769)) for opened in (one, two))
        assert before.pop(40965) != after.pop(40965)  # a place in the file
        assert after[33434] == 1 / 250
        assert after == before
        assert two.getexif().get_ifd(0x8825) == one.getexif().get_ifd(0x8825)
        assert (two.info["dpi"], two.info["icc_profile"]) == (one.info["dpi"], ICC)
    spec = oiio.ImageInput.open(str(output)).spec()
    assert spec.getattribute("ExposureTime") == pytest.approx(1 / 250)
    assert spec.getattribute("Orientation") == 6


def test_a_file_without_software_gets_the_stamp_alone_and_a_second_run_adds_its_own(tmp_path: Path) -> None:
    source = tmp_path / "a.tif"
    Image.fromarray(picture("u1", 3)).save(source, compression="tiff_lzw")
    output, _, stamp = applied(source)
    assert differences(blocks(source), blocks(output)) == {
        SOFTWARE: (None, (2, len(stamp or "") + 1, f"{stamp}\0".encode()))
    }
    again, _, second = applied(output, stamp=True)
    assert blocks(again)[SOFTWARE][2] == f"{stamp}; {second}\0".encode()
    plain, _, none = applied(source, stamp=False)
    assert none is None
    assert differences(blocks(source), blocks(plain)) == {}


def test_a_frame_that_nothing_changes_is_the_same_file(tmp_path: Path) -> None:
    source = build(tmp_path / "a.tif", described("<"), picture("u1", 3))
    output, notes, _ = applied(source, NEUTRAL)
    assert (output.read_bytes(), notes) == (source.read_bytes(), ())


def test_pictures_of_the_uncorrected_one_are_left_out_and_told(tmp_path: Path) -> None:
    source = tmp_path / "a.tif"
    pixels = picture("u1", 3)
    with tifffile.TiffWriter(source) as tif:
        tif.write(
            pixels, photometric="rgb", metadata=None, subifds=1, software=False, extratags=[(37724, 7, 6, b"layers")]
        )
        tif.write(pixels[::2, ::2], photometric="rgb", metadata=None, subfiletype=1, software=False)
        tif.write(pixels[::4, ::4], photometric="rgb", metadata=None, subfiletype=1, software=False)
    output, notes, _ = applied(source, stamp=False)
    assert notes == (
        "left out: 1 smaller picture and smaller pictures (SubIFDs) and layers of the uncorrected picture",
    )
    assert set(differences(blocks(source), blocks(output))) == {"330 SubIFDs", "37724 ImageSourceData", "pages"}


def test_a_thumbnail_among_the_resources_is_kept_and_told(tmp_path: Path) -> None:
    resources = b"8BIM\x04\x0c\0\0\0\0\0\x04\1\2\3\4"  # resource 1036
    source = build(tmp_path / "a.tif", [(34377, 1, resources)], picture("u1", 3))
    output, notes, _ = applied(source, stamp=False)
    assert notes == ("the thumbnail in its image resources shows the uncorrected picture",)
    assert differences(blocks(source), blocks(output)) == {}


def test_another_depth_drops_what_counts_in_codes_and_tells(tmp_path: Path) -> None:
    codes = struct.pack("<3H", 1, 2, 3)
    source = build(tmp_path / "a.tif", [*described("<"), (281, 3, codes), (301, 3, bytes(512))], picture("u1", 3))
    output, notes, _ = applied(source, stamp=False, depth="16")
    assert notes == ("not kept at another depth: MaxSampleValue, TransferFunction",)
    changed = {"258 BitsPerSample", "281 MaxSampleValue", "301 TransferFunction"}
    assert set(differences(blocks(source), blocks(output))) == changed


def test_another_encoding_drops_what_tells_of_the_old_and_tells(tmp_path: Path) -> None:
    white = struct.pack("<4I", 3127, 10000, 3290, 10000)
    source = build(tmp_path / "a.tif", [*described("<"), (318, 5, white)], picture("u1", 3))
    output, notes, _ = applied(source, stamp=False, encoding=Encoding(source="linear", delivery="sRGB"))
    assert notes == (
        "not kept in another encoding: WhitePoint",
        "not kept: ICC profile, as it describes an encoding that the output does not have",
    )
    assert set(differences(blocks(source), blocks(output))) == {"318 WhitePoint", "34675 InterColorProfile"}


def test_damaged_tags_are_told(tmp_path: Path) -> None:
    source = build(
        tmp_path / "a.tif", [(65000, 99, b""), (65001, 3, bytes(8)), (34665, 4, b"\xff\xff\0\0")], picture("u1", 3)
    )
    data = bytearray(source.read_bytes())
    with tifffile.TiffFile(source) as tif:
        (place,) = [tag.offset for tag in tif.pages[0].tags if tag.code == 65001]
    struct.pack_into("<I", data, place + 8, 2**31)
    source.write_bytes(data)
    _, notes, _ = applied(source)
    assert notes == (
        "not kept: tag 34665, whose directory is damaged",
        "not kept: tag 65000, of the unknown type 99",
        "not kept: tag 65001, whose value is outside the file",
    )


def test_what_other_formats_leave_behind_is_told(tmp_path: Path) -> None:
    source = build(tmp_path / "a.tif", described("<"), picture("u1", 3))
    _, notes, _ = applied(source, format="png")
    assert notes == ("not kept in PNG: EXIF, GPS, XMP, IPTC, orientation, resolution, 11 other tags",)
