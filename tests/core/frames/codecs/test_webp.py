"""WebP against OpenImageIO and imagecodecs, which decode by libwebp builds of their own, and chunks by RFC 9649."""

import struct
from dataclasses import replace
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
from PIL import Image

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import NEUTRAL
from poise.errors import FrameError, OutputError
from poise.frames import probe, read, write

PHOTO = np.ascontiguousarray(skimage.data.astronaut()[100:140, 150:210])
ALPHA = np.dstack([PHOTO, np.where(np.arange(40)[:, None] < 9, 0, PHOTO[..., 0] | 1)]).astype(np.uint8)
TOLD = "poise reads WebP and doesn't write it: the output is PNG"
SAVED: dict[str, tuple[Any, dict[str, Any]]] = {
    "lossy": (PHOTO, {"quality": 80}),
    "lossless": (PHOTO, {"lossless": True}),
    "lossy-alpha": (ALPHA, {"quality": 80}),
    "lossless-alpha": (ALPHA, {"lossless": True, "exact": True}),
    "lossless-profile": (ALPHA, {"lossless": True, "exact": True, "icc_profile": b"harbour"}),
}


@pytest.mark.parametrize("name", SAVED)
def test_every_code_as_other_decoders_give_it(tmp_path: Path, name: str) -> None:
    path, (pixels, options) = tmp_path / "quay.webp", SAVED[name]
    Image.fromarray(pixels).save(path, **options)
    frame = read(path)
    header = probe(path)
    assert (header.height, header.width, header.channels) == frame.pixels.shape == pixels.shape
    np.testing.assert_array_equal(frame.pixels, imagecodecs.webp_decode(path.read_bytes()))
    straight = oiio.ImageSpec()
    straight.attribute("oiio:UnassociatedAlpha", 1)
    theirs = oiio.ImageInput.open(str(path), straight).read_image(0, 0, 0, pixels.shape[2], "uint8")
    np.testing.assert_array_equal(frame.pixels, theirs)
    if "lossless" in options:
        np.testing.assert_array_equal(frame.pixels, pixels)  # colour under an alpha of 0 too
    assert frame.icc == options.get("icc_profile")


def test_it_becomes_a_png_with_the_same_codes_and_profile_and_the_rest_is_told(tmp_path: Path) -> None:
    path, output = tmp_path / "quay.webp", tmp_path / "out" / "quay.png"
    exif = Image.Exif()
    exif[0x010F] = "lighthouse"
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"
    Image.fromarray(ALPHA).save(path, lossless=True, exact=True, icc_profile=b"harbour", exif=exif, xmp=xmp)
    made = process_frame(Job(path, output, NEUTRAL, None, "png", None))
    assert isinstance(made, FrameResult), made
    assert made.notes == (TOLD, "not kept in PNG: EXIF, XMP")
    with Image.open(output) as again:
        np.testing.assert_array_equal(np.asarray(again), ALPHA)
        assert again.info["icc_profile"] == b"harbour"
    notes = write(tmp_path / "quay.tif", read(path))
    assert notes == (TOLD.replace("PNG", "TIFF"), "not kept in TIFF: EXIF, XMP")
    with pytest.raises(OutputError, match="poise reads WebP and doesn't write it; use tiff, png"):
        write(tmp_path / "again.webp", read(path))


def test_data_behind_the_end_is_told(tmp_path: Path) -> None:
    path = tmp_path / "quay.webp"
    Image.fromarray(PHOTO).save(path)
    path.write_bytes(path.read_bytes() + b"harbour")
    assert write(tmp_path / "a.png", read(path))[1] == "not kept in PNG: data after the end of the picture"


def test_an_animation_is_refused_by_name(tmp_path: Path) -> None:
    path = tmp_path / "quay.webp"
    Image.fromarray(PHOTO).save(path, save_all=True, append_images=[Image.fromarray(255 - PHOTO)])
    for use in (read, probe):
        with pytest.raises(FrameError, match="the WebP is animated, which poise doesn't correct"):
            use(path)


def chunk(kind: bytes, content: bytes) -> bytes:
    return kind + struct.pack("<I", len(content)) + content + bytes(len(content) % 2)


def riff(*chunks: bytes) -> bytes:
    return b"RIFF" + struct.pack("<I", 4 + sum(map(len, chunks))) + b"WEBP" + b"".join(chunks)


def test_broken_structures_have_their_reasons(tmp_path: Path) -> None:
    path = tmp_path / "quay.webp"
    Image.fromarray(PHOTO).save(path, lossless=True)
    picture = path.read_bytes()[12:]
    canvas = chunk(b"VP8X", bytes(4) + (59).to_bytes(3, "little") + (49).to_bytes(3, "little"))
    for content, told in (
        (riff(canvas), "the WebP holds no picture"),
        (riff(canvas, picture), "its canvas and its picture differ in size"),
        (riff(picture)[:-40], "the file is cut short"),
        (riff(chunk(b"EXIF", bytes(2**24 + 2)), picture), "the chunk EXIF holds more than 16 MB, over the limit"),
        (riff(picture) + bytes(2**27), "the file is far larger than its picture"),
    ):
        path.write_bytes(content)
        for use in (read, probe):
            with pytest.raises(FrameError, match=told):
                use(path)
    path.write_bytes(riff(picture))
    np.testing.assert_array_equal(read(path).pixels, PHOTO)


def test_a_plain_picture_of_34_bytes_is_no_bomb(tmp_path: Path) -> None:
    path = tmp_path / "quay.webp"
    Image.new("RGB", (4000, 3000), "red").save(path, lossless=True, method=0)
    assert path.stat().st_size < 64
    frame = read(path)
    assert (frame.width, frame.height) == (4000, 3000)
    assert (frame.pixels == (255, 0, 0)).all()
    assert replace(frame).icc is None
