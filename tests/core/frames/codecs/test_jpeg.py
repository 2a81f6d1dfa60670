"""JPEG: quality tables, subsampling and metadata stay, told by Pillow reading both files."""

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image
from PIL.JpegImagePlugin import get_sampling
from skimage.metrics import peak_signal_noise_ratio

from poise.errors import FrameError
from poise.frames import Depth, Frame, probe, read, write

PHOTO = skimage.data.astronaut()[100:228, 150:300]


@pytest.mark.parametrize("subsampling", [0, 1, 2])
@pytest.mark.parametrize("quality", [60, 93])
@pytest.mark.parametrize("progressive", [False, True])
def test_written_as_it_was_stored(tmp_path: Path, subsampling: int, quality: int, progressive: bool) -> None:
    one, two = tmp_path / "one.jpg", tmp_path / "two.jpg"
    exif = Image.Exif()
    exif[0x010E] = "quay"
    Image.fromarray(PHOTO).save(
        one,
        quality=quality,
        subsampling=subsampling,
        progressive=progressive,
        exif=exif,
        icc_profile=b"profile" * 20,
        dpi=(240, 240),
        comment=b"ferry",
        xmp=b"<x:xmpmeta/>",
    )
    frame = read(one)
    np.testing.assert_array_equal(frame.pixels, np.asarray(Image.open(one)))
    assert frame.icc == b"profile" * 20
    write(two, frame)
    before, after = Image.open(one), Image.open(two)
    assert after.quantization == before.quantization
    assert get_sampling(after) == get_sampling(before) == subsampling
    for key in ("exif", "icc_profile", "dpi", "comment", "xmp", "progressive"):
        assert after.info.get(key) == before.info.get(key), key


def test_grey_and_new_files(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    for pixels in (PHOTO, PHOTO[..., :1]):
        write(path, Frame(pixels, Depth.U8))
        frame = read(path)
        assert frame.channels == probe(path).channels == pixels.shape[2]
        assert peak_signal_noise_ratio(pixels, frame.pixels) > 36
        write(path, frame)
        assert read(path).grey == (pixels.shape[2] == 1)


def test_stored_as_rgb_stays_so(tmp_path: Path) -> None:
    one, two = tmp_path / "one.jpg", tmp_path / "two.jpg"
    Image.fromarray(PHOTO).save(one, quality=95, keep_rgb=True, subsampling=0)
    write(two, read(one))
    assert Image.open(two).info.get("adobe_transform") == Image.open(one).info.get("adobe_transform")
    assert peak_signal_noise_ratio(PHOTO, np.asarray(Image.open(two))) > 36


def test_cmyk_is_refused_by_name(tmp_path: Path) -> None:
    Image.fromarray(PHOTO).convert("CMYK").save(tmp_path / "a.jpg")
    for use in (read, probe):
        with pytest.raises(FrameError, match="the JPEG holds CMYK"):
            use(tmp_path / "a.jpg")


def test_a_header_of_impossible_size_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    Image.fromarray(PHOTO).save(path)
    data = bytearray(path.read_bytes())
    at = data.index(b"\xff\xc0") + 5
    data[at : at + 4] = b"\xff\xff\xff\xff"
    path.write_bytes(data)
    with pytest.raises(FrameError, match="65535 x 65535 pixels, over the limit"):
        read(path)
