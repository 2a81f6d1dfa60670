"""Mipmapped OpenEXR through the batch: written by OpenImageIO, and read again by it level by level."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import LINEAR, NEUTRAL, Balance, Correction
from poise.engine import compile_engine
from poise.errors import FrameError
from poise.frames import Depth, read
from poise.frames.codecs.exr.file import headers

PHOTO = (skimage.data.astronaut()[100:163, 150:231] / 255.0) ** 2.2
LIFT = Correction(balance=Balance(slope=(1.2, 0.9, 1.0), offset=(0.05, 0.0, 0.02)))
DEPTH = np.linspace(1, 9, 63 * 81, dtype=np.float32).reshape(63, 81, 1)


def sizes(up: bool) -> list[tuple[int, int]]:
    """ "Levels of Detail" (openexr.com): width / 2^n, rounded down or up, at least 1, until both are 1."""
    rounded = np.ceil if up else np.floor
    found = [tuple(max(1, int(rounded(size / 2**n))) for size in (81, 63)) for n in range(9)]
    return found[: found.index((1, 1)) + 1]


def mipmapped(path: Path, levels: list[Any], kind: Any, up: bool = False, **attributes: Any) -> Path:
    out = oiio.ImageOutput.create("openexr")
    for number, pixels in enumerate(levels):
        spec = oiio.ImageSpec(pixels.shape[1], pixels.shape[0], pixels.shape[2], kind)
        spec.channelnames = ("R", "G", "B", "Z")[: pixels.shape[2]]
        spec.tile_width = spec.tile_height = 16
        spec.attribute("openexr:roundingmode", int(up))
        spec.attribute("compression", "zip")
        spec.attribute("textureformat", "Plain Texture")
        for name, value in attributes.items():
            spec.attribute(name, value)
        assert out.open(str(path), spec, "AppendMIPLevel" if number else "Create"), out.geterror()
        assert out.write_image(np.ascontiguousarray(pixels.astype(np.float32))), out.geterror()
    assert out.close()
    return path


def pixels(path: Path, level: int) -> Any:
    source = oiio.ImageInput.open(str(path))
    if not source.seek_subimage(0, level):
        return None
    return source.read_image(0, level, 0, source.spec().nchannels, "float")


def applied(path: Path, correction: Correction = LIFT) -> Path:
    output = path.parent / "out" / path.name
    made = process_frame(Job(path, output, correction, None, "exr", None))
    assert isinstance(made, FrameResult), made
    assert made.notes == ()
    return output


def half_the_size(picture: Any, width: int, height: int) -> Any:
    """The mean of the pixels (2x, 2y) to (2x + 1, 2y + 1) that there are."""
    made = np.empty((height, width, picture.shape[2]))
    for y in range(height):
        for x in range(width):
            made[y, x] = picture[2 * y : 2 * y + 2, 2 * x : 2 * x + 2].mean(axis=(0, 1))
    return made


@pytest.mark.parametrize("up", [False, True])
@pytest.mark.parametrize("depth", [Depth.HALF, Depth.FLOAT])
def test_the_top_is_corrected_and_the_others_made_anew(tmp_path: Path, depth: Depth, up: bool) -> None:
    old = [PHOTO, *(np.full((height, width, 3), 0.5) for width, height in sizes(up)[1:])]
    path = mipmapped(tmp_path / "quay.exr", old, oiio.HALF if depth is Depth.HALF else oiio.FLOAT, up)
    output = applied(path)
    (_, (before,)), (_, (after,)) = (headers(io.BytesIO(one.read_bytes())) for one in (path, output))
    assert after[b"tiles"] == before[b"tiles"] == (b"tiledesc", bytes([16, 0, 0, 0, 16, 0, 0, 0, 1 + 16 * up]))
    assert {**after, b"poise": None} == {**before, b"poise": None}
    expected = compile_engine(LIFT, LINEAR, depth).apply(PHOTO.astype(np.float32).astype(depth.dtype))
    np.testing.assert_array_equal(pixels(output, 0), expected)
    for level, (width, height) in enumerate(sizes(up)[1:], 1):
        found = pixels(output, level)
        assert found.shape == (height, width, 3)
        expected = half_the_size(expected.astype(np.float64), width, height)
        np.testing.assert_allclose(found, expected, rtol=2**-11 if depth is Depth.HALF else 2**-20, atol=1e-7)
    assert pixels(output, len(sizes(up))) is None


def test_other_channels_keep_all_their_levels(tmp_path: Path) -> None:
    old = [np.dstack([PHOTO, DEPTH])] + [
        np.dstack([np.full((height, width, 3), 0.5), DEPTH[:height, :width]]) for width, height in sizes(up=False)[1:]
    ]
    path = mipmapped(tmp_path / "quay.exr", old, oiio.FLOAT)
    output = applied(path)
    for level in range(len(old)):
        assert pixels(output, level)[..., 3].tobytes() == pixels(path, level)[..., 3].tobytes()


def test_neutral_is_a_copy_and_another_format_takes_the_top(tmp_path: Path) -> None:
    old = [PHOTO, *(np.full((height, width, 3), 0.5) for width, height in sizes(up=False)[1:])]
    path = mipmapped(tmp_path / "quay.exr", old, oiio.HALF)
    assert applied(path, NEUTRAL).read_bytes() == path.read_bytes()
    np.testing.assert_array_equal(read(path).pixels, pixels(path, 0))


def test_damage_in_a_smaller_level_is_noticed(tmp_path: Path) -> None:
    old = [PHOTO, *(np.full((height, width, 3), 0.5) for width, height in sizes(up=False)[1:])]
    path = mipmapped(tmp_path / "quay.exr", old, oiio.HALF)
    data = bytearray(path.read_bytes())
    path.write_bytes(data[:-30])
    with pytest.raises(FrameError, match="cut short"):
        read(path)
    headers(file := io.BytesIO(data))
    end = file.tell()
    data[end + 24 * 8 : end + 25 * 8] = data[end : end + 8]  # the first tile of level 1 is that of level 0
    path.write_bytes(data)
    with pytest.raises(FrameError, match="a tile of its levels is missing"):
        read(path)


def test_ripmaps_are_refused_by_name(tmp_path: Path) -> None:
    path = mipmapped(tmp_path / "quay.exr", [PHOTO], oiio.HALF)
    data = bytearray(path.read_bytes())
    at = data.index(b"tiledesc\0") + 9 + 4 + 8
    data[at] = 2
    path.write_bytes(data)
    with pytest.raises(FrameError, match="holds ripmaps"):
        read(path)
