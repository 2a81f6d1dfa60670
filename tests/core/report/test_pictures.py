"""Pictures of a sheet, decoded by Pillow, against counts made by numpy's histogram on a real photograph."""

import base64
from io import BytesIO
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import skimage.data
from PIL import Image

from poise.colour.luma import BT709
from poise.correction import CODED, NEUTRAL
from poise.frames import Depth, read
from poise.frames.frame import Frame
from poise.report.pictures import (
    BLUE,
    GAP,
    GREEN,
    LUMA,
    NARROW,
    RED,
    SMALL,
    USUAL,
    Picture,
    Size,
    opacity,
    small,
    thumbnail,
)
from poise.report.side import side


def decoded(picture: Picture) -> npt.NDArray[np.uint8]:
    with Image.open(BytesIO(base64.b64decode(picture.uri.removeprefix("data:image/webp;base64,")))) as image:
        assert image.format == "WEBP"
        return np.asarray(image)


ROWS, EACH = USUAL.rows, USUAL.each


def counted(levels: npt.NDArray[np.float64], columns: int, rows: int) -> npt.NDArray[np.int64]:
    """Levels (height, width) against columns by numpy's own histogram, highest row first."""
    height, width = levels.shape
    across = np.tile(np.arange(width) * columns // width, height)
    edges = np.linspace(-0.05, 1.05, rows + 1) - 1e-6  # the scale of EBU R 103; an edge belongs to the row above
    grid, _, _ = np.histogram2d(levels.ravel(), across, [edges, np.arange(columns + 1) - 0.5])
    return grid[::-1].astype(np.int64)


@pytest.mark.parametrize("size", [USUAL, SMALL])
def test_traces_are_the_counts_of_every_pixel_of_a_photograph(size: Size) -> None:
    photograph = skimage.data.chelsea()  # 451 x 300, 8 bit
    seen = side(Frame(photograph, Depth.U8), NEUTRAL, CODED, size=size)
    drawn = -(-NARROW // size.each)  # columns in which each column of a parade is drawn
    rows, each = size.rows, drawn * size.each
    levels = photograph.astype(np.float32).astype(np.float64) / 255
    luma = (photograph.astype(np.float64) / 255) @ np.array([BT709.red, BT709.green, BT709.blue])
    waveform = decoded(seen.waveform)
    assert waveform.shape == (rows, size.columns, 4)
    # luma is summed in float32: a pixel on an edge of two rows may be counted in either
    differing = waveform[..., 3] != opacity(counted(luma, size.columns, rows))
    assert differing.mean() < 0.002
    assert {tuple(pixel) for pixel in waveform[waveform[..., 3] > 0][:, :3].tolist()} == {LUMA}
    parade = decoded(seen.parade)
    assert parade.shape == (rows, 3 * each + 2 * GAP, 4)
    for channel, ink in enumerate((RED, GREEN, BLUE)):
        part = parade[:, channel * (each + GAP) :][:, :each]
        counts = counted(levels[..., channel], size.each, rows).repeat(drawn, axis=1)
        assert np.array_equal(part[..., 3], opacity(counts))
        assert {tuple(pixel) for pixel in part[part[..., 3] > 0][:, :3].tolist()} == {ink}
        gap = parade[:, channel * (each + GAP) + each :][:, :GAP]
        assert not gap[..., 3].any()


def test_a_thumbnail_is_the_mean_of_the_pixels_it_stands_for() -> None:
    photograph = skimage.data.coffee().astype(np.uint16) * 257  # 600 x 400
    big = np.repeat(np.repeat(photograph, 2, axis=0), 2, axis=1)[:648, :1152]
    blocks = big.reshape(216, 3, 384, 3, 3).mean(axis=(1, 3), dtype=np.float64)
    made = small(big)
    assert (made.shape, made.dtype) == ((216, 384, 3), np.uint16)
    assert np.abs(made - blocks).max() <= 1
    shown = decoded(thumbnail(made / 65535)).astype(np.float64)
    assert np.abs(shown - blocks / 257).mean() < 5  # WebP at this quality loses some


@pytest.mark.parametrize("shape", [(1, 1, 3), (1, 1, 1), (3, 5000, 3), (5000, 2, 1)])
def test_pictures_of_odd_sizes_keep_at_least_a_pixel(shape: tuple[int, int, int]) -> None:
    made = small(np.full(shape, 99, np.uint8))
    assert min(made.shape[:2]) >= 1
    assert max(made.shape[1] / 384, made.shape[0] / 216) <= 1
    assert np.abs(decoded(thumbnail(made / 255)).astype(int) - 99).max() <= 3


def test_floats_beyond_the_range_and_no_numbers_at_all_are_held() -> None:
    levels = np.array([[[-3.0, 0.5, 7.0], [np.nan, np.inf, -np.inf]]], np.float32)
    frame = Frame(np.repeat(levels, 40, axis=0).repeat(40, axis=1).astype(np.float16), Depth.HALF, linear=False)
    seen = side(frame, NEUTRAL, CODED)
    left = decoded(seen.picture)[20, 20].astype(int)
    assert np.abs(left - np.array((0, 128, 255))).max() < 40  # the colours of a lossy picture spread
    parade = decoded(seen.parade)
    each = 2 * 80 + GAP  # the picture has fewer columns than a trace, so they are twice as wide
    rows = [np.flatnonzero(parade[:, at, 3]).tolist() for at in (20, each + 20, 2 * each + 20)]
    assert rows == [[ROWS - 1], [ROWS // 2], [0]]
    assert seen.readings.invalid == 50


def test_a_grey_picture_with_alpha_is_seen_as_grey(tmp_path: Path) -> None:
    ramp = np.tile(np.arange(256, dtype=np.uint8), (40, 1))
    Image.merge("LA", [Image.fromarray(ramp), Image.fromarray(255 - ramp)]).save(tmp_path / "fog_01.png")
    seen = side(read(tmp_path / "fog_01.png"), NEUTRAL, CODED)
    parade = decoded(seen.parade)[..., 3]
    thirds = [parade[:, place * (EACH + GAP) :][:, :EACH] for place in range(3)]
    assert np.array_equal(thirds[0], thirds[1])
    assert np.array_equal(thirds[0], thirds[2])
    assert np.ptp(decoded(seen.picture)[20].astype(int), axis=-1).max() <= 1
