"""JPEG through the batch: every segment of source and output, by a reader written here after ITU-T T.81 annex B.

Sources are Pillow's, with segments put in by hand; tables and layouts of both are read from their own headers.
"""

import io
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from exif_blocks import exif, jpeg
from jpeg_blocks import PHOTO, Segments, applied, beside, coded, file, same_picture, segments, stamped
from PIL import Image, ImageCms
from PIL.JpegImagePlugin import get_sampling
from skimage.metrics import peak_signal_noise_ratio

from poise.correction import Correction, Encoding, Tone
from poise.errors import FrameError
from poise.frames import read

XMP = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta xmlns:x='adobe:ns:meta/'/>"
MORE_XMP = b"http://ns.adobe.com/xmp/extension/\0" + b"0" * 32 + struct.pack(">II", 8, 0) + b"<harbor>"
IPTC = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x0c\x1c\x02\x78\0\x07harbour"
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("subsampling", [0, 1, 2])
@pytest.mark.parametrize("quality", [30, 95])
def test_coding(tmp_path: Path, quality: int, subsampling: int, progressive: bool) -> None:
    path = file(tmp_path / "a.jpg", quality=quality, subsampling=subsampling, progressive=progressive)
    output = applied(path)
    assert coded(output) == coded(path)
    assert stamped(beside(output)) == beside(path)
    same_picture(path, output)


@pytest.mark.parametrize("ids", [[0, 0, 0], [0, 1, 1], [0, 1, 2]])
def test_tables_of_each_component(tmp_path: Path, ids: list[int]) -> None:
    """Tables of one's own, some over 255, and a restart interval of 3 MCUs."""
    tables = [[2 + (table + 1) * place % 19 for place in range(64)] for table in range(max(ids) + 1)]
    tables[0][63] = 300
    path = file(tmp_path / "a.jpg", qtables=tables, subsampling=2, restart_marker_blocks=3)
    before = coded(path)
    assert before["restart"] == b"\0\3"
    assert len({tuple(table) for table in before["tables"]}) == len(tables)
    assert coded(applied(path)) == before


def test_grey(tmp_path: Path) -> None:
    path = file(tmp_path / "a.jpg", (0xFE, b"quay"), pixels=PHOTO[..., 1], quality=80, progressive=True)
    toe = Correction(tone=Tone(toe=0.2))
    output = applied(path, toe)
    assert coded(output) == coded(path)
    assert stamped(beside(output)) == beside(path)
    same_picture(path, output, toe)


def test_segments_stay_in_their_order(tmp_path: Path) -> None:
    """ICC in three segments, XMP with its extension, IPTC, unknown ones, two comments, one of no known charset."""
    icc = SRGB + bytes(140_000 - len(SRGB))
    cut = [icc[at : at + 60_000] for at in range(0, len(icc), 60_000)]
    profile = [(0xE2, b"ICC_PROFILE\0" + bytes([n + 1, len(cut)]) + part) for n, part in enumerate(cut)]
    path = file(
        tmp_path / "a.jpg",
        (0xFE, b"first"),
        (0xE1, XMP),
        (0xE1, MORE_XMP),
        *profile,
        (0xED, IPTC),
        (0xEB, b"unknown\0\1\2"),
        (0xE1, b"also unknown"),
        (0xFE, b"caf\xe9\0"),
        dpi=(240, 120),
    )
    assert read(path).icc == icc
    output = applied(path)
    assert stamped(beside(output)) == beside(path)
    assert Image.open(output).info["dpi"] == (240, 120)
    assert beside(applied(path, Correction(saturation=0.7), stamp=False)) == beside(path)


def test_a_profile_goes_when_the_encoding_changes(tmp_path: Path) -> None:
    path = file(tmp_path / "a.jpg", (0xE1, XMP), icc_profile=SRGB)
    output = applied(
        path,
        encoding=Encoding(source="sRGB", delivery="ITU-R BT.1886"),
        notes=("not kept: ICC profile, as it describes an encoding that the output does not have",),
    )
    assert stamped(beside(output)) == [part for part in beside(path) if b"ICC_PROFILE" not in part[1]]


def adobe(transform: int) -> tuple[int, bytes]:
    return 0xEE, b"Adobe\0\x64\0\0\0\0" + bytes([transform])


JFIF = (0xE0, b"JFIF\0\1\2\0\0\1\0\1\0\0")


@pytest.mark.parametrize(
    ("keep_rgb", "marks"),
    [
        (True, [adobe(0)]),  # RGB, and says so
        (True, []),  # RGB, told by the components' names
        (False, [adobe(1)]),
        (False, [JFIF, adobe(0)]),  # JFIF is always YCbCr, whatever Adobe says
        (False, []),
    ],
)
def test_colour_is_stored_alike(tmp_path: Path, keep_rgb: bool, marks: Segments) -> None:
    path = file(tmp_path / "a.jpg", *marks, drop=True, keep_rgb=keep_rgb, subsampling=0, quality=95)
    output = applied(path)
    assert stamped(beside(output)) == marks
    assert coded(output) == coded(path)
    same_picture(path, output, least=36)


@pytest.mark.parametrize("order", ["<", ">"])
def test_exif_byte_for_byte_but_for_the_thumbnail(tmp_path: Path, order: str) -> None:
    old = jpeg(np.full((36, 64, 3), (250, 30, 200), np.uint8), (32, 24), 90) + bytes(900)
    block = exif(order, old)
    path = file(tmp_path / "a.jpg", (0xE1, b"Exif\0\0" + block))
    assert Image.open(path).getexif().get_ifd(0x8769)[0x829A] == 1 / 250
    output = applied(path)
    (jfif, (mark, body)) = stamped(beside(output))
    assert (jfif, mark, body[:6]) == (beside(path)[0], 0xE1, b"Exif\0\0")
    again = body[6:]
    assert len(again) == len(block)
    assert again[:300] == block[:300]
    assert again[300 + len(old) :] == b"the end"
    seen = Image.open(output).getexif()
    assert seen[0x0131] == "lighthouse"
    assert seen.get_ifd(0x8769)[0x829A] == 1 / 250
    assert seen.get_ifd(0x8769)[0x927C] == block[136:200]
    small = Image.open(io.BytesIO(again[300 : 300 + len(old)]))
    assert small.size == (32, 24)
    whole = np.asarray(Image.open(output).resize((32, 18), Image.Resampling.BOX))  # 16:9 stands within 4:3
    assert peak_signal_noise_ratio(whole, np.asarray(small)[3:21]) > 24
    assert np.asarray(small)[:2].max() < 40


@pytest.mark.parametrize(
    ("old", "kind"), [(b"\xff\xd8 broken", 6), (jpeg(PHOTO, (800, 600), 90)[:700], 6), (b"\1\2" * 48, 1)]
)
def test_a_thumbnail_that_cannot_be_drawn_is_unlinked_and_told(tmp_path: Path, old: bytes, kind: int) -> None:
    path = file(tmp_path / "a.jpg", (0xE1, b"Exif\0\0" + exif("<", old, kind)), quality=98)
    output = applied(path, notes=("not kept: the EXIF thumbnail, which showed the uncorrected picture",))
    body = stamped(beside(output))[1][1][6:]
    assert body[34:38] == bytes(4)
    assert body[:34] + body[38:300] == exif("<", old, kind)[:34] + exif("<", old, kind)[38:300]
    assert old not in body


def test_damaged_exif_is_kept_and_told(tmp_path: Path) -> None:
    """In a process of its own, nothing but the note reaches the terminal."""
    block = b"Exif\0\0" + exif("<", jpeg(PHOTO, (32, 24), 80))[:40]
    path = file(tmp_path / "a.jpg", (0xE1, block), drop=True)
    output = applied(path, notes=("EXIF is damaged; it was kept unchanged",))
    assert stamped(beside(output)) == [(0xE1, block)]
    code = f"from poise.frames import read; read({str(path)!r})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")


def test_thumbnails_of_jfif(tmp_path: Path) -> None:
    thumb = b"JFIF\0\1\2\0\0\1\0\1\x10\x09" + b"\xff\0\0" * 16 * 9
    path = file(tmp_path / "a.jpg", (0xE0, thumb), (0xE0, b"JFXX\0\x10" + jpeg(PHOTO, (16, 9), 50)), drop=True)
    output = applied(path, notes=("not kept: the JFXX thumbnail, which showed the uncorrected picture",))
    ((mark, body),) = stamped(beside(output))
    assert (mark, body[:14], len(body)) == (0xE0, thumb[:14], len(thumb))
    shown = np.frombuffer(body[14:], np.uint8).reshape(9, 16, 3)
    whole = np.asarray(Image.open(output).resize((16, 9), Image.Resampling.BOX))
    assert peak_signal_noise_ratio(whole, shown) > 24


def test_a_thumbnail_among_the_image_resources_is_told(tmp_path: Path) -> None:
    block = b"Photoshop 3.0\x008BIM\x04\x0c\0\0\0\0\0\x04\1\2\3\4"
    path = file(tmp_path / "a.jpg", (0xED, block))
    output = applied(path, notes=("the thumbnail in its image resources shows the uncorrected picture",))
    assert stamped(beside(output)) == beside(path)


def test_further_pictures_are_told(tmp_path: Path) -> None:
    """Pillow's own multi-picture file."""
    path = tmp_path / "a.jpg"
    memory = io.BytesIO()
    more = [Image.fromarray(PHOTO[::-1])]
    Image.fromarray(PHOTO).save(memory, "MPO", save_all=True, append_images=more)
    path.write_bytes(memory.getvalue())
    assert Image.open(path).n_frames == 2
    output = applied(path, notes=("not kept: the further pictures in the file (MPF)",))
    assert stamped(beside(output)) == [part for part in beside(path) if part[1][:4] != b"MPF\0"]
    assert segments(output.read_bytes())[1] == b""


def test_what_follows_is_kept_and_told(tmp_path: Path) -> None:
    path = file(tmp_path / "a.jpg")
    path.write_bytes(path.read_bytes() + b"a film of the ferry")
    output = applied(path, notes=("data after the end of the picture was kept unchanged",))
    assert output.read_bytes().endswith(b"\xff\xd9a film of the ferry")


def test_another_chroma_layout_becomes_444_and_is_told(tmp_path: Path) -> None:
    """4:4:0, the layout of a 4:2:2 picture that was turned on its side."""
    path = file(tmp_path / "a.jpg", pixels=PHOTO[:32], subsampling=1)
    data = bytearray(path.read_bytes())
    data[data.index(b"\xff\xc0") + 11] = 0x12
    path.write_bytes(data)
    assert get_sampling(Image.open(path)) == -1
    output = applied(path, notes=("its chroma layout can't be written; the output has 4:4:4",))
    assert get_sampling(Image.open(output)) == 0


@pytest.mark.parametrize("progressive", [False, True])
def test_cut_short_though_it_ends_well_is_noticed(tmp_path: Path, progressive: bool) -> None:
    """The end of the picture's data is gone, and an end-of-image marker stands in its place."""
    path = file(tmp_path / "a.jpg", progressive=progressive)
    data = path.read_bytes()
    for missing in (1, 2, 3, 10, 100, len(data) // 2):
        path.write_bytes(data[: -2 - missing] + b"\xff\xd9")
        with pytest.raises(FrameError, match="cut short"):
            read(path)


def test_other_codings_are_refused_by_name(tmp_path: Path) -> None:
    path = file(tmp_path / "a.jpg")
    data = path.read_bytes()
    at = data.index(b"\xff\xc0")
    for changed, what in (
        (data[: at + 1] + b"\xc9" + data[at + 2 :], "arithmetic-coded"),
        (data[: at + 4] + b"\x0c" + data[at + 5 :], "12 bit"),
    ):
        path.write_bytes(changed)
        with pytest.raises(FrameError, match=what):
            read(path)
