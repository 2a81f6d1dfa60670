"""PNG through the batch: every chunk of source and output, by a reader written here; pixels by other libraries."""

import io
import struct
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
from blocks import HALVED, applied, halved, picture
from exif_blocks import exif, jpeg
from PIL import Image, ImageCms

from poise.correction import Correction, Encoding, Levels
from poise.errors import FrameError
from poise.frames import read

SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
COLOUR = {1: 0, 2: 4, 3: 2, 4: 6}
ADAM7 = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))

Chunks = list[tuple[bytes, bytes]]


def chunks(path: Path) -> Chunks:
    data, at, found = path.read_bytes(), 8, []
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    while not found or found[-1][0] != b"IEND":
        (length,) = struct.unpack_from(">I", data, at)
        found.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + length]))
        assert zlib.crc32(b"".join(found[-1])) == struct.unpack_from(">I", data, at + 8 + length)[0]
        at += 12 + length
    return found


def file(path: Path, pixels: Any, before: Chunks = [], after: Chunks = [], interlaced: bool = False) -> Path:  # noqa: B006
    """A PNG written by hand after the W3C recommendation, without filters."""
    height, width, channels = pixels.shape
    stored = pixels.astype(pixels.dtype.newbyteorder(">"))
    passes = ADAM7 if interlaced else ((0, 0, 1, 1),)
    rows = [
        b"\0" + row.tobytes()
        for left, top, across, down in passes
        for row in stored[top::down, left::across]
        if row.size
    ]
    head = struct.pack(">IIBBBBB", width, height, 8 * pixels.itemsize, COLOUR[channels], 0, 0, interlaced)
    whole = [(b"IHDR", head), *before, (b"IDAT", zlib.compress(b"".join(rows))), *after, (b"IEND", b"")]
    out = b"\x89PNG\r\n\x1a\n"
    for kind, body in whole:
        out += struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    path.write_bytes(out)
    return path


def pixels(path: Path) -> Any:
    config = oiio.ImageSpec()
    config.attribute("oiio:UnassociatedAlpha", 1)
    config.attribute("png:linear_premult", 0)
    source = oiio.ImageInput.open(str(path), config)
    spec = source.spec()
    return source.read_image(0, 0, 0, spec.nchannels, spec.format).reshape(spec.height, spec.width, spec.nchannels)


def stamped(path: Path, stamp: str | None) -> Chunks:
    """All chunks but the picture and the stamp, which must be a text `poise`."""
    found = chunks(path)
    assert stamp is not None
    own = [body for kind, body in found if kind == b"tEXt" and body.startswith(b"poise\0")]
    assert own == [b"poise\0" + stamp.encode()]
    return [part for part in found if part[0] != b"IDAT" and part[1] not in own]


def others(path: Path) -> Chunks:
    return [part for part in chunks(path) if part[0] != b"IDAT"]


@pytest.mark.parametrize("interlaced", [False, True])
@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_depth_alpha_and_interlacing(tmp_path: Path, kind: type, channels: int, interlaced: bool) -> None:
    """Colour under an alpha of 0 is corrected too, and alpha stands as it was."""
    source = picture(kind, channels)
    if channels in (2, 4):
        source[:9, :, -1] = 0
    path = file(tmp_path / "a.png", source, interlaced=interlaced)
    correction = HALVED if channels > 2 else Correction(levels=Levels(white=2))
    output, notes, stamp = applied(path, correction)
    assert notes == ()
    assert stamped(output, stamp) == others(path)
    seen, colour = pixels(output), 1 if channels < 3 else 3
    halved(source[..., :colour], seen[..., :colour])
    np.testing.assert_array_equal(seen[..., colour:], source[..., colour:])
    if kind is np.uint8:
        np.testing.assert_array_equal(np.asarray(Image.open(output)).reshape(seen.shape), seen)


@pytest.mark.parametrize(("height", "width"), [(1, 1), (2, 3), (5, 1), (9, 17)])
def test_small_interlaced_pictures(tmp_path: Path, capfd: Any, height: int, width: int) -> None:
    source = picture(np.uint16, 3, height, width)
    output, *_ = applied(file(tmp_path / "a.png", source, interlaced=True))
    read(output)
    assert capfd.readouterr() == ("", "")  # libpng has words for the terminal here
    assert chunks(output)[0][1][-1] == 1
    halved(source, pixels(output))


KEPT = [
    (b"cHRM", struct.pack(">8I", 31270, 32900, 64000, 33000, 30000, 60000, 15000, 6000)),
    (b"gAMA", struct.pack(">I", 45455)),
    (b"cICP", bytes([9, 16, 0, 1])),
    (b"mDCV", bytes(24)),
    (b"cLLI", struct.pack(">II", 10_000_000, 4_000_000)),
    (b"sBIT", bytes([12, 12, 12])),
    (b"bKGD", struct.pack(">3H", 1, 2, 3)),
    (b"pHYs", struct.pack(">IIB", 2835, 5670, 1)),
    (b"sCAL", b"\x011.5\0002.5"),
    (b"sTER", b"\1"),
    (b"oFFs", struct.pack(">iiB", -3, 7, 0)),
    (b"tEXt", b"Software\0lighthouse 2"),
    (b"tEXt", b"Title\0f\xe4hre"),
    (b"tEXt", b"Title\0once more"),
    (b"zTXt", b"Comment\0\0" + zlib.compress(b"a long day" * 20, 9)),
    (b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"),
    (b"iTXt", b"Author\0\1\0de\0Urheber\0" + zlib.compress("Ännchen".encode())),
    (b"eXIf", b"MM\0*\0\0\0\x08\0\1\x01\x31\0\2\0\0\0\4abc\0\0\0\0\0"),
    (b"prVt", b"safe to copy"),
]


def test_chunks_before_and_after_the_picture(tmp_path: Path) -> None:
    after = [(b"tEXt", b"Source\0quay"), (b"prAt", bytes(9)), (b"eXIf", KEPT[-2][1])]
    profile = (b"iCCP", b"Harbour\0\0" + zlib.compress(SRGB, 3))
    path = file(tmp_path / "a.png", picture(np.uint16, 3), [profile, *KEPT], after)
    output, notes, stamp = applied(path)
    assert notes == ()
    assert stamped(output, stamp) == others(path)
    assert [kind for kind, _ in chunks(output)].index(b"IDAT") == len(KEPT) + 3
    seen = Image.open(output)
    assert seen.info["icc_profile"] == SRGB
    assert seen.info["Software"] == "lighthouse 2"
    assert seen.info["Author"] == "Ännchen"
    output, _, stamp = applied(path, stamp=False)
    assert stamp is None
    assert others(output) == others(path)


def test_srgb_alone(tmp_path: Path) -> None:
    path = file(tmp_path / "a.png", picture(np.uint8, 3), [(b"sRGB", b"\1")])
    output, notes, stamp = applied(path)
    assert (notes, stamped(output, stamp)) == ((), others(path))


def test_a_stamp_follows_that_of_an_earlier_run(tmp_path: Path) -> None:
    path = file(tmp_path / "a.png", picture(np.uint8, 3), [(b"tEXt", b"poise\0poise 0.0 correction 12")])
    output, _, stamp = applied(path)
    assert chunks(output)[1] == (b"tEXt", b"poise\0poise 0.0 correction 12; " + str(stamp).encode())


@pytest.mark.parametrize(
    ("chunk", "why"),
    [
        ((b"tIME", bytes(7)), "tIME, the time of the last change, which is out of date"),
        ((b"PLTE", bytes(6)), "PLTE, a palette suggested for the uncorrected picture"),
        ((b"sPLT", b"quay\0\x08" + bytes(12)), "sPLT, a palette suggested for the uncorrected picture"),
        ((b"prVT", b"unsafe"), "chunk prVT, unsafe to copy when pixels change"),
        ((b"pCAL", b"depth\0" + bytes(12)), "chunk pCAL, unsafe to copy when pixels change"),
        ((b"dSIG", b"signed"), "chunk dSIG, unsafe to copy when pixels change"),
    ],
)
def test_what_is_no_longer_true_is_told(tmp_path: Path, chunk: tuple[bytes, bytes], why: str) -> None:
    path = file(tmp_path / "a.png", picture(np.uint8, 3), [chunk, (b"tEXt", b"Title\0quay")])
    output, notes, stamp = applied(path)
    assert notes == (f"not kept: {why}",)
    assert stamped(output, stamp) == [part for part in others(path) if part != chunk]


def test_another_encoding_and_another_depth(tmp_path: Path) -> None:
    path = file(tmp_path / "a.png", picture(np.uint16, 3), [(b"iCCP", b"Harbour\0\0" + zlib.compress(SRGB)), *KEPT])
    kinds = lambda output: {kind for kind, _ in chunks(output)}  # noqa: E731
    output, notes, _ = applied(path, encoding=Encoding(source="sRGB", delivery="ITU-R BT.1886"))
    gone = {b"gAMA", b"cHRM", b"cICP", b"mDCV", b"cLLI", b"iCCP"}
    assert kinds(path) - kinds(output) == gone
    assert len(notes) == len(gone)
    output, notes, _ = applied(path, depth="8")
    assert kinds(path) - kinds(output) == {b"sBIT", b"bKGD"}
    assert len(notes) == 2


def test_the_thumbnail_of_exif_is_drawn_anew(tmp_path: Path) -> None:
    old = jpeg(np.full((36, 64, 3), (250, 30, 200), np.uint8), (32, 24), 90) + bytes(900)
    photo = np.ascontiguousarray(skimage.data.astronaut()[100:136, 150:214]).astype(np.uint16) * 257
    path = file(tmp_path / "a.png", photo, [(b"eXIf", exif(">", old))])
    output, notes, stamp = applied(path)
    assert notes == ()
    one, two = dict(others(path))[b"eXIf"], dict(stamped(output, stamp))[b"eXIf"]
    assert (two[:300], two[300 + len(old) :], len(two)) == (one[:300], one[300 + len(old) :], len(one))
    small = np.asarray(Image.open(io.BytesIO(two[300 : 300 + len(old)]))).astype(float)
    assert np.abs(small[3:21].mean((0, 1)) - pixels(output).mean((0, 1)) / 257).max() < 4


def test_what_follows_is_kept_and_told(tmp_path: Path) -> None:
    path = file(tmp_path / "a.png", picture(np.uint8, 3))
    path.write_bytes(path.read_bytes() + b"and more")
    output, notes, _ = applied(path)
    assert notes == ("data after the end of the picture was kept unchanged",)
    assert output.read_bytes().endswith(b"IEND\xaeB`\x82and more")


def test_an_interlaced_picture_that_ends_early(tmp_path: Path) -> None:
    path = file(tmp_path / "a.png", picture(np.uint8, 3), interlaced=True)
    listed = chunks(path)
    cut = zlib.compress(zlib.decompress(dict(listed)[b"IDAT"])[:-1])
    parts = [(kind, cut if kind == b"IDAT" else body) for kind, body in listed]
    whole = b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in parts
    )
    path.write_bytes(path.read_bytes()[:8] + whole)
    with pytest.raises(FrameError, match="cut short"):
        read(path)


def test_damaged_and_unknown_critical_chunks(tmp_path: Path) -> None:
    path = file(tmp_path / "a.png", picture(np.uint8, 3), [(b"PLTE", b"quaypa")])
    path.write_bytes(path.read_bytes().replace(b"quay", b"quai"))
    with pytest.raises(FrameError, match="its chunk PLTE is damaged; copy it again"):
        read(path)
    file(path, picture(np.uint8, 3), [(b"QUAY", b"")])
    with pytest.raises(FrameError, match="a chunk QUAY that poise must not ignore"):
        read(path)


def test_a_damaged_ancillary_chunk_is_left_out_and_told(tmp_path: Path) -> None:
    path = file(tmp_path / "a.png", picture(np.uint8, 3), [(b"tEXt", b"Title\0quay"), (b"tEXt", b"Author\0Ann")])
    path.write_bytes(path.read_bytes().replace(b"quay", b"quai"))
    output, notes, _ = applied(path, stamp=False)
    assert notes == ("not kept: the chunk tEXt, which is damaged",)
    with Image.open(output) as again:
        assert again.info == {"Author": "Ann"}
