"""OpenEXR: bits, windows and attributes stay; files come from OpenImageIO used plainly, and go to it."""

from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data

from poise.errors import FrameError
from poise.frames import Depth, Frame, probe, read, write

PHOTO = (skimage.data.astronaut()[100:164, 150:230] / 255.0) ** 2.2 * 4 - 0.1


def stored(path: Path, pixels: Any, names: tuple[str, ...], **attributes: Any) -> None:
    kind = {"float16": oiio.HALF, "float32": oiio.FLOAT, "uint32": oiio.UINT32}[pixels.dtype.name]
    spec = oiio.ImageSpec(pixels.shape[1], pixels.shape[0], pixels.shape[2], kind)
    spec.channelnames = names
    spec.x, spec.y, spec.full_x, spec.full_y, spec.full_width, spec.full_height = 12, -3, 0, 0, 200, 100
    for name, value in attributes.items():
        spec.attribute(name.replace("__", ":"), *value) if isinstance(value, tuple) else spec.attribute(
            name.replace("__", ":"), value
        )
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(path), spec)
    assert out.write_image(np.ascontiguousarray(pixels))
    assert out.close()


@pytest.mark.parametrize("compression", ["none", "rle", "zip", "zips", "piz"])
@pytest.mark.parametrize("dtype", [np.float16, np.float32])
def test_windows_attributes_and_bits_are_kept(tmp_path: Path, compression: str, dtype: type) -> None:
    one, two = tmp_path / "one.exr", tmp_path / "two.exr"
    pixels = PHOTO.astype(dtype)
    pixels[0, :4] = [[np.nan] * 3, [np.inf] * 3, [-np.inf] * 3, [-0.0] * 3]
    stored(
        one,
        pixels,
        ("R", "G", "B"),
        compression=compression,
        framesPerSecond=(oiio.TypeDesc("rational"), (24, 1)),
        chromaticities=(oiio.TypeDesc("float[8]"), (0.64, 0.33, 0.3, 0.6, 0.15, 0.06, 0.3127, 0.329)),
        owner="Ann",
        harbour="quay",
    )
    frame = read(one)
    assert frame.linear
    assert frame.pixels.tobytes() == pixels.tobytes()
    write(two, frame)
    before, after = oiio.ImageInput.open(str(one)), oiio.ImageInput.open(str(two))
    assert after.read_image(0, 0, 0, 3, after.spec().format).tobytes() == pixels.tobytes()
    for part in ("x", "y", "width", "height", "full_x", "full_y", "full_width", "full_height", "channelnames"):
        assert getattr(after.spec(), part) == getattr(before.spec(), part), part
    listed = [{a.name: a.value for a in source.spec().extra_attribs} for source in (before, after)]
    assert listed[1] == listed[0]
    assert listed[1]["compression"] == compression


def test_tiles_are_kept(tmp_path: Path) -> None:
    one, two = tmp_path / "one.exr", tmp_path / "two.exr"
    spec = oiio.ImageSpec(80, 64, 3, oiio.HALF)
    spec.tile_width = spec.tile_height = 32
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(one), spec) and out.write_image(PHOTO.astype(np.float16)) and out.close()  # noqa: PT018
    write(two, read(one))
    again = oiio.ImageInput.open(str(two)).spec()
    assert (again.tile_width, again.tile_height) == (32, 32)


def test_alpha_stands_as_stored(tmp_path: Path) -> None:
    """Premultiplied by convention (OpenEXR technical introduction): never multiplied or divided here."""
    path = tmp_path / "a.exr"
    pixels = np.dstack([PHOTO, np.linspace(0, 1, 80) * np.ones((64, 1))]).astype(np.float32)
    stored(path, pixels, ("R", "G", "B", "A"))
    write(path, read(path))
    np.testing.assert_array_equal(oiio.ImageInput.open(str(path)).read_image(0, 0, 0, 4, "float"), pixels)


@pytest.mark.parametrize(
    ("pixels", "names", "what"),
    [
        (PHOTO.astype(np.float16), ("R", "G", "Z"), "the channels G, R, Z"),
        (PHOTO[..., :1].astype(np.float16), ("Z",), "the channels Z"),
        (PHOTO[..., :1].astype(np.uint32), ("Y",), "uint values"),
    ],
)
def test_refused_by_name(tmp_path: Path, pixels: Any, names: tuple[str, ...], what: str) -> None:
    stored(tmp_path / "a.exr", pixels, names)
    for use in (read, probe):
        with pytest.raises(FrameError) as told:
            use(tmp_path / "a.exr")
        assert what in told.value.reason


def test_several_parts_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.exr"
    specs = tuple(oiio.ImageSpec(8, 8, 3, oiio.HALF) for _ in range(2))
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(path), specs)
    assert out.write_image(np.zeros((8, 8, 3), np.float16))
    assert out.open(str(path), specs[1], "AppendSubimage")
    assert out.write_image(np.zeros((8, 8, 3), np.float16))
    assert out.close()
    with pytest.raises(FrameError, match="more than one part"):
        read(path)


def test_grey_is_y(tmp_path: Path) -> None:
    write(tmp_path / "a.exr", Frame(PHOTO[..., :1].astype(np.float16), Depth.HALF, linear=True))
    assert oiio.ImageInput.open(str(tmp_path / "a.exr")).spec().channelnames == ("Y",)
