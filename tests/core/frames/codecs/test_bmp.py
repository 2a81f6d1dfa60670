"""BMP against Pillow and OpenImageIO, with files written by struct after the Windows GDI headers."""

import struct
from pathlib import Path

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

PHOTO = np.ascontiguousarray(skimage.data.astronaut()[100:140, 150:211])
BGR = np.ascontiguousarray(PHOTO[..., ::-1])
BGRA = np.dstack([BGR, PHOTO[..., 0] // 2])
TOLD = "poise reads BMP and doesn't write it: the output is PNG"
GREYS = b"".join(bytes([level] * 3 + [0]) for level in range(256))
ARGB = struct.pack("<4I", 0xFF0000, 0xFF00, 0xFF, 0xFF000000)


def bmp(
    path: Path,
    pixels: np.ndarray,
    bits: int,
    compression: int = 0,
    beyond: bytes = b"",
    size: int = 40,
    top: bool = False,
) -> Path:
    """A file of (height, width, bytes); `beyond` is what stands between the first 40 bytes of header and the pixels."""
    height, width = pixels.shape[:2]
    rows = np.pad(pixels.reshape(height, -1), ((0, 0), (0, -pixels[0].size % 4)))
    data = (rows if top else rows[::-1]).tobytes()
    start = 54 + len(beyond)
    head = struct.pack("<2sIHHI", b"BM", start + len(data), 0, 0, start)
    head += struct.pack("<IiiHHIIiiII", size, width, -height if top else height, 1, bits, compression, 0, 0, 0, 0, 0)
    path.write_bytes(head + beyond + data)
    return path


@pytest.mark.parametrize("top", [False, True])
@pytest.mark.parametrize("kind", ["rgb-24", "rgb-32", "rgba-32", "grey-8"])
def test_every_code(tmp_path: Path, kind: str, top: bool) -> None:
    path = tmp_path / "quay.bmp"
    if kind == "rgb-24":
        wanted = PHOTO
        bmp(path, BGR, 24, top=top)
    elif kind == "rgb-32":
        wanted = PHOTO
        bmp(path, np.dstack([BGR, np.zeros_like(BGR[..., 0])]), 32, top=top)
    elif kind == "rgba-32":
        wanted = BGRA[..., [2, 1, 0, 3]]
        bmp(path, BGRA, 32, 3, ARGB + bytes(52), 108, top=top)
    else:
        wanted = PHOTO[..., :1]
        bmp(path, wanted, 8, beyond=GREYS, top=top)
    frame, header = read(path), probe(path)
    assert (header.height, header.width, header.channels) == frame.pixels.shape
    np.testing.assert_array_equal(frame.pixels, wanted)
    with Image.open(path) as theirs:
        np.testing.assert_array_equal(np.asarray(theirs).reshape(wanted.shape), wanted)
    source = oiio.ImageInput.open(str(path))
    base = min(wanted.shape[2], 3)  # it multiplies by alpha
    if kind != "rgba-32":
        found = source.read_image(0, 0, 0, source.spec().nchannels, "uint8")[..., :base]
        np.testing.assert_array_equal(found, wanted)


def test_it_becomes_a_png_with_the_same_codes_and_profile_and_the_rest_is_told(tmp_path: Path) -> None:
    """BITMAPV5HEADER: bV5CSType 'MBED', bV5ProfileData counted from the header's start, bV5ProfileSize."""
    path, output = tmp_path / "quay.bmp", tmp_path / "out" / "quay.png"
    beyond = bytearray(84)
    struct.pack_into("<I", beyond, 16, 0x4D424544)
    bmp(path, BGR, 24, beyond=bytes(beyond), size=124)
    data = bytearray(path.read_bytes())
    struct.pack_into("<II", data, 14 + 112, len(data) - 14, 7)
    struct.pack_into("<ii", data, 38, 2835, 2835)
    path.write_bytes(data + b"harbour")
    made = process_frame(Job(path, output, NEUTRAL, None, "png", None))
    assert isinstance(made, FrameResult), made
    assert made.notes == (TOLD, "not kept in PNG: resolution")
    with Image.open(output) as again:
        np.testing.assert_array_equal(np.asarray(again), PHOTO)
        assert again.info["icc_profile"] == b"harbour"
    with pytest.raises(OutputError, match="poise reads BMP and doesn't write it; use tiff, png"):
        write(tmp_path / "again.bmp", read(path))


def test_what_the_fourth_byte_and_the_end_hold_is_told(tmp_path: Path) -> None:
    path = bmp(tmp_path / "quay.bmp", BGRA, 32)
    path.write_bytes(path.read_bytes() + b"harbour")
    frame = read(path)
    np.testing.assert_array_equal(frame.pixels, PHOTO)
    lost = "data after the end of the picture, the fourth byte of each pixel, which its header doesn't call alpha"
    assert write(tmp_path / "a.png", frame) == (TOLD, f"not kept in PNG: {lost}")


@pytest.mark.parametrize(
    ("bits", "compression", "beyond", "told"),
    [
        (1, 0, bytes(8), "black and white of 1 bit"),
        (4, 0, bytes(64), "a palette"),
        (8, 0, GREYS[::-1], "a palette"),
        (16, 0, b"", "pixels of 16 bit"),
        (16, 3, struct.pack("<3I", 0xF800, 0x7E0, 0x1F), "pixels of 16 bit"),
        (32, 3, struct.pack("<3I", 0x3FF00000, 0xFFC00, 0x3FF), "an unusual layout of 32 bit"),
        (8, 1, GREYS, "run-length compression"),
        (0, 4, b"", "JPEG compression"),
    ],
)
def test_refused_by_name(tmp_path: Path, bits: int, compression: int, beyond: bytes, told: str) -> None:
    path = bmp(tmp_path / "quay.bmp", BGRA, bits, compression, beyond)
    for use in (read, probe):
        with pytest.raises(FrameError, match=f"the BMP holds {told}, which poise doesn't correct"):
            use(path)


def test_broken_structures_have_their_reasons(tmp_path: Path) -> None:
    path = bmp(tmp_path / "quay.bmp", BGR, 24)
    whole = path.read_bytes()
    for content, told in (
        (whole[:-9], "its header claims more than the file can hold"),
        (whole[:40], "cut short"),
        (whole[:14] + struct.pack("<I", 99) + whole[18:], "the BMP has a header of 99 bytes, an unknown kind"),
        (whole[:18] + struct.pack("<i", 0) + whole[22:], "its header says 0 x 40 pixels"),
        (whole + bytes(2**27), "the file is far larger than its picture"),
    ):
        path.write_bytes(content)
        for use in (read, probe):
            with pytest.raises(FrameError, match=told):
                use(path)
