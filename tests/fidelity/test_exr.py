"""OpenEXR through the batch: every attribute, channel and part of source and output, by a reader written here.

Sources are written by OpenImageIO, their headers enlarged by hand after "OpenEXR File Layout" (openexr.com); pixels of
both are read by OpenImageIO.
"""

import shutil
import struct
from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import LINEAR, Correction, Tone
from poise.engine import compile_engine
from poise.errors import FrameError
from poise.frames import Depth, read
from poise.frames.codecs.exr.file import Part, build, parse

PHOTO = np.ascontiguousarray((skimage.data.astronaut()[100:136, 150:214] / 255.0) ** 2.2 * 4 - 0.1)
DESATURATED = Correction(saturation=0.8)
DEPTH = PHOTO[..., :1] * 100
OWN = {b"poise"}


def file(path: Path, pixels: Any, names: str, formats: Any = None, tile: int = 0, **attributes: Any) -> Path:
    oiio.attribute("threads", 1)
    spec = oiio.ImageSpec(64, 36, pixels.shape[2], oiio.HALF if pixels.dtype == np.float16 else oiio.FLOAT)
    spec.channelnames = tuple(names.split())
    spec.tile_width = spec.tile_height = tile
    if formats:
        spec.channelformats = formats
    for name, value in attributes.items():
        spec.attribute(name.replace("__", ":"), value)
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(path), spec)
    assert out.write_image(np.ascontiguousarray(pixels))
    assert out.close()
    return path


def parsed(path: Path) -> tuple[int, list[dict[bytes, tuple[bytes, bytes]]], int]:
    """Version field, headers, and where they end."""
    data, at, found = path.read_bytes(), 8, []
    (version,) = struct.unpack_from("<I", data, 4)
    while True:
        found.append({})
        while data[at]:
            name, kind = data[at:].split(b"\0", 2)[:2]
            at += len(name) + len(kind) + 2
            (length,) = struct.unpack_from("<i", data, at)
            found[-1][name] = kind, data[at + 4 : at + 4 + length]
            at += 4 + length
        at += 1
        if not version & 0x1000:
            return version, found, at
        if not data[at]:
            return version, found, at + 1


def enlarged(path: Path, more: dict[bytes, tuple[bytes, bytes]]) -> Path:
    """The file with more attributes; its table of offsets moves on."""
    _, (header,), end = parsed(path)
    data = path.read_bytes()
    (first,) = struct.unpack_from("<Q", data, end)
    count = (first - end) // 8
    front = data[:8]
    for name, (kind, value) in (header | more).items():
        front += name + b"\0" + kind + b"\0" + struct.pack("<i", len(value)) + value
    front += b"\0"
    table = [offset + len(front) - end for offset in struct.unpack_from(f"<{count}Q", data, end)]
    path.write_bytes(front + struct.pack(f"<{count}Q", *table) + data[first:])
    return path


def applied(path: Path, correction: Correction = DESATURATED, stamp: bool = True, notes: tuple[str, ...] = ()) -> Path:
    output = path.parent / "out" / path.name
    made = process_frame(Job(path, output, correction, None, "exr", None, stamp))
    assert isinstance(made, FrameResult), made
    assert made.notes == notes
    return output


def same_header(one: dict[bytes, Any], two: dict[bytes, Any], but: set[bytes] = OWN) -> None:
    assert [name for name in two if name not in OWN] == list(one)
    for name in set(one) - but:
        assert two[name] == one[name], name


def pixels(path: Path, part: int = 0, first: int = 0, last: int = -1, kind: str = "float") -> Any:
    source = oiio.ImageInput.open(str(path))
    source.seek_subimage(part, 0)
    last = last if last > 0 else source.spec().nchannels
    found = source.read_image(part, 0, first, last, kind)
    assert not source.geterror()
    return found


EVERY_TYPE = {
    b"owner": (b"string", b"Ann"),
    b"comments": (b"string", b"caf\xe9 on the quay"),  # no UTF-8
    b"empty": (b"string", b""),
    b"timeCode": (b"timecode", bytes(range(8))),
    b"keyCode": (b"keycode", struct.pack("<7i", 1, 2, 3, 4, 5, 4, 64)),
    b"oddCode": (b"keycode", struct.pack("<7i", -1, 200, 3, 4, 5, 0, 0)),  # outside its limits
    b"chromaticities": (b"chromaticities", struct.pack("<8f", 0.64, 0.33, 0.3, 0.6, 0.15, 0.06, 0.3127, 0.329)),
    b"worldToCamera": (b"m44f", struct.pack("<16f", *range(16))),
    b"turn": (b"m33f", struct.pack("<9f", *range(9))),
    b"wide": (b"m44d", struct.pack("<16d", *range(16))),
    b"crop": (b"box2i", struct.pack("<4i", 1, 2, 3, 4)),
    b"safe": (b"box2f", struct.pack("<4f", 1, 2, 3, 4)),
    b"exact": (b"double", struct.pack("<d", 0.1)),
    b"isoSpeed": (b"float", struct.pack("<f", 0.1)),
    b"odd": (b"float", b"\1\0\xa0\x7f"),  # not a number, signalling
    b"take": (b"int", struct.pack("<i", -5)),
    b"framesPerSecond": (b"rational", struct.pack("<iI", 24000, 1001)),
    b"boats": (b"stringvector", struct.pack("<i", 3) + b"Ann" + struct.pack("<i", 0)),
    b"place": (b"v2i", struct.pack("<2i", 1, 2)),
    b"adoptedNeutral": (b"v2f", struct.pack("<2f", 0.3, 0.3)),
    b"buoy": (b"v3d", struct.pack("<3d", 1, 2, 3)),
    b"tides": (b"floatvector", struct.pack("<3f", 1, 2, 3)),
    b"envmap": (b"envmap", b"\1"),
    b"state": (b"deepImageState", b"\1"),
    b"harbour": (b"harbourType", b"\1\2\3"),  # known to nobody
    b"idmanifest": (b"idmanifest", bytes(16)),
    b"Software": (b"string", b"lighthouse 2"),
}


def test_attributes_of_every_type(tmp_path: Path) -> None:
    path = enlarged(file(tmp_path / "a.exr", PHOTO.astype(np.float16), "R G B", compression="zip"), EVERY_TYPE)
    output = applied(path)
    (one,), (two,) = parsed(path)[1], parsed(output)[1]
    same_header(one, two)
    assert two[b"poise"][1].startswith(b"poise ")
    assert two[b"Software"] == (b"string", b"lighthouse 2")
    expected = compile_engine(DESATURATED, LINEAR, Depth.HALF, Depth.HALF).apply(PHOTO.astype(np.float16))
    np.testing.assert_array_equal(pixels(output), expected)
    shutil.copy(output, tmp_path / "again.exr")
    assert parsed(applied(tmp_path / "again.exr"))[1][0][b"poise"][1].startswith(two[b"poise"][1] + b"; poise ")
    bare = applied(path, Correction(saturation=0.7), stamp=False)
    assert parsed(bare)[1][0].keys() == one.keys()


@pytest.mark.parametrize(
    "compression", ["none", "rle", "zips", "zip", "piz", "pxr24", "b44", "b44a", "dwaa", "dwab", "dwaa:300", "dwab:10"]
)
def test_compression_and_its_level(tmp_path: Path, compression: str) -> None:
    """The output's pixels are those that OpenImageIO stores when asked for the same compression."""
    path = file(tmp_path / "a.exr", PHOTO.astype(np.float16), "R G B", compression=compression)
    stored = pixels(path, kind="half")
    output = applied(path)
    same_header(parsed(path)[1][0], parsed(output)[1][0])
    corrected = compile_engine(DESATURATED, LINEAR, Depth.HALF, Depth.HALF).apply(stored)
    again = file(tmp_path / "again.exr", corrected, "R G B", compression=compression)
    np.testing.assert_array_equal(pixels(output), pixels(again))


@pytest.mark.parametrize("order", ["increasingY", "decreasingY"])
@pytest.mark.parametrize("dtype", [np.float16, np.float32])
def test_windows_and_line_order(tmp_path: Path, dtype: type, order: str) -> None:
    path = file(tmp_path / "a.exr", PHOTO.astype(dtype), "R G B", compression="zips", openexr__lineOrder=order)
    data = bytearray(path.read_bytes())
    for name, window in ((b"dataWindow", (-5, 0, 58, 35)), (b"displayWindow", (0, -20, 99, 79))):
        struct.pack_into("<4i", data, data.index(name + b"\0") + len(name) + 11, *window)
    path.write_bytes(data)
    output = applied(path)
    same_header(parsed(path)[1][0], parsed(output)[1][0])
    spec = oiio.ImageInput.open(str(output)).spec()
    assert (spec.x, spec.y, spec.full_x, spec.full_y, spec.full_width) == (-5, 0, 0, -20, 100)
    assert _order_of_chunks(output) == _order_of_chunks(path)


def _order_of_chunks(path: Path) -> list[int]:
    end, data = parsed(path)[2], path.read_bytes()
    table = struct.unpack_from("<36Q", data, end)
    return sorted(range(36), key=table.__getitem__)


def test_layers_of_mixed_depths_bit_for_bit(tmp_path: Path) -> None:
    """RGBA half beside float depth and a layer; numbers that are none among them."""
    layers = np.dstack([PHOTO, PHOTO[..., :1], DEPTH, PHOTO]).astype(np.float32)
    layers[0, :3, 4] = [np.nan, np.inf, -0.0]
    names = "R G B A Z a_layer_with_a_very_long_name_indeed.R diffuse.G diffuse.B"
    path = file(tmp_path / "a.exr", layers, names, (oiio.HALF,) * 4 + (oiio.FLOAT,) + (oiio.HALF,) * 3)
    before = oiio.ImageInput.open(str(path)).spec()
    output = applied(path)
    same_header(parsed(path)[1][0], parsed(output)[1][0])
    after = oiio.ImageInput.open(str(output)).spec()
    assert (after.channelnames, after.channelformats) == (before.channelnames, before.channelformats)
    one, two = pixels(path), pixels(output)
    assert one[..., 3:].tobytes() == two[..., 3:].tobytes()
    assert (one[..., :3] != two[..., :3]).any()


def test_alpha_of_another_depth_and_identifiers(tmp_path: Path) -> None:
    path = file(
        tmp_path / "a.exr", np.dstack([PHOTO, DEPTH]).astype(np.float32), "R G B A", (oiio.HALF,) * 3 + (oiio.FLOAT,)
    )
    assert pixels(applied(path))[..., 3].tobytes() == pixels(path)[..., 3].tobytes()
    assert read(path).channels == 3


def test_layers_that_lose_are_told(tmp_path: Path) -> None:
    layers = np.dstack([PHOTO, PHOTO]).astype(np.float16)
    path = file(tmp_path / "a.exr", layers, "R G B diffuse.R diffuse.G Z", compression="dwaa")
    output = applied(path, notes=("channels diffuse.G diffuse.R were compressed again by DWAA, with loss",))
    one, two = pixels(path), pixels(output)
    where = oiio.ImageInput.open(str(output)).spec().channelnames.index("Z")
    assert one[..., where].tobytes() == two[..., where].tobytes()
    assert (one != two).any()


@pytest.mark.parametrize("order", ["increasingY", "randomY"])
def test_tiles(tmp_path: Path, order: str) -> None:
    path = file(tmp_path / "a.exr", PHOTO.astype(np.float16), "R G B", tile=16, openexr__lineOrder=order)
    output = applied(path)
    assert parsed(output)[0] == parsed(path)[0]
    same_header(parsed(path)[1][0], parsed(output)[1][0])
    expected = compile_engine(DESATURATED, LINEAR, Depth.HALF, Depth.HALF).apply(PHOTO.astype(np.float16))
    np.testing.assert_array_equal(pixels(output), expected)


def test_the_preview_shows_the_output(tmp_path: Path) -> None:
    old = struct.pack("<2I", 8, 4) + bytes(8 * 4 * 4)
    path = enlarged(file(tmp_path / "a.exr", PHOTO.astype(np.float32), "R G B"), {b"preview": (b"preview", old)})
    output = applied(path)
    same_header(parsed(path)[1][0], parsed(output)[1][0], {b"preview"})
    kind, value = parsed(output)[1][0][b"preview"]
    assert (kind, value[:8], len(value)) == (b"preview", old[:8], len(old))
    shown = np.frombuffer(value[8:], np.uint8).reshape(4, 8, 4)
    # gamma 2.2 (ImfPreviewImage.h), of the pixel in the middle of each eighth and quarter
    there = np.clip(pixels(output)[4::9, 4::8], 0, 1) ** (1 / 2.2) * 255
    np.testing.assert_allclose(shown[..., :3], there, atol=0.51)
    assert (shown[..., 3] == 255).all()


def test_grey(tmp_path: Path) -> None:
    path = file(tmp_path / "a.exr", np.dstack([PHOTO[..., 1], DEPTH[..., 0]]).astype(np.float16), "Y Z")
    output = applied(path, Correction(tone=Tone(toe=0.2)))
    same_header(parsed(path)[1][0], parsed(output)[1][0])
    assert pixels(output)[..., 1].tobytes() == pixels(path)[..., 1].tobytes()


def several(path: Path, *layout: tuple[str, str]) -> Path:
    """A file of parts: name and channels."""
    specs = []
    for name, channels in layout:
        names = tuple(channels.split())
        spec = oiio.ImageSpec(64, 36, len(names), oiio.HALF)
        spec.channelnames = names
        for key, value in (("name", name), ("note", f"of {name}"), ("compression", "zips")):
            spec.attribute(key, value)
        specs.append(spec)
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(path), tuple(specs))
    for number, spec in enumerate(specs):
        assert number == 0 or out.open(str(path), spec, "AppendSubimage")
        assert out.write_image(np.ascontiguousarray(PHOTO[..., : spec.nchannels].astype(np.float16)))
    assert out.close()
    return path


def deep(path: Path) -> Path:
    """A file of one deep part."""
    spec = oiio.ImageSpec(64, 36, 2, oiio.FLOAT)
    spec.channelnames, spec.deep = ("Z", "A"), True
    spec.attribute("compression", "zips")
    data = oiio.DeepData()
    data.init(64 * 36, 2, (oiio.FLOAT, oiio.FLOAT), ("Z", "A"))
    for pixel in range(0, 64 * 36, 3):
        data.set_samples(pixel, 2)
        data.set_deep_value(pixel, 0, 1, pixel / 7)
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(path), spec)
    assert out.write_deep_image(data)
    assert out.close()
    return path


def _chunks(path: Path) -> list[list[bytes]]:
    """The chunks of each part, as they stand."""
    _, headers, at = parsed(path)
    data, found = path.read_bytes(), []
    for header in headers:
        (count,) = struct.unpack("<i", header[b"chunkCount"][1])
        found.append(struct.unpack_from(f"<{count}Q", data, at))
        at += 8 * count
    ends = sorted([offset for table in found for offset in table] + [len(data)])
    return [[data[offset : ends[ends.index(offset) + 1]] for offset in table] for table in found]


def test_other_parts_stay_bit_for_bit(tmp_path: Path) -> None:
    path = several(tmp_path / "a.exr", ("depth", "Z"), ("quay", "R G B"), ("ids", "id.X id.Y"))
    version, parts = parse(path.read_bytes())
    _, (smoke,) = parse(deep(tmp_path / "deep.exr").read_bytes())
    named = {b"name": (b"string", b"smoke"), b"chunkCount": (b"int", struct.pack("<i", 36))}
    with path.open("wb") as out:
        build(out, version | 0x800, [*parts, Part(dict(smoke.attributes) | named, smoke.chunks)])
    assert oiio.ImageInput.open(str(path)).seek_subimage(3, 0)
    assert oiio.ImageInput.open(str(path)).spec(3, 0).deep
    output = applied(path)
    assert parsed(output)[0] == parsed(path)[0]
    for one, two in zip(parsed(path)[1], parsed(output)[1], strict=True):
        same_header(one, two)
    before, after = _chunks(path), _chunks(output)
    assert after[0] == before[0]
    assert after[2:] == before[2:]
    assert len(after[3]) == 36
    expected = compile_engine(DESATURATED, LINEAR, Depth.HALF, Depth.HALF).apply(PHOTO.astype(np.float16))
    np.testing.assert_array_equal(pixels(output, 1), expected)


def test_two_pictures_in_a_file_are_refused(tmp_path: Path) -> None:
    path = several(tmp_path / "a.exr", ("left", "R G B"), ("right", "R G B"))
    with pytest.raises(FrameError, match=r"more than one part with a picture \(left, right\)"):
        read(path)


@pytest.mark.parametrize("tile", [0, 16])
def test_cut_short_anywhere_is_noticed(tmp_path: Path, tile: int) -> None:
    path = file(tmp_path / "a.exr", PHOTO.astype(np.float16), "R G B", tile=tile)
    data = path.read_bytes()
    for length in [*range(17, len(data), 997), len(data) - 1]:
        path.write_bytes(data[:length])
        with pytest.raises(FrameError, match="cut short"):
            read(path)
    path.write_bytes(data)
    at = parsed(path)[2]
    path.write_bytes(data[: at + 8] + bytes(8) + data[at + 16 :])  # a chunk that was never written
    with pytest.raises(FrameError, match="cut short"):
        read(path)
