"""JPEGs with a gain map or further pictures: the base picture is corrected, and what becomes of the rest is told.

The base picture is judged by Pillow and by libjpeg-turbo (imagecodecs); whether a file has a gain map by libultrahdr.
"""

import io
import struct
from pathlib import Path

import imagecodecs
import numpy as np
import pytest
from jpeg_blocks import PHOTO, applied, beside, file, same_picture, segments, stamped
from PIL import Image

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import Correction
from poise.frames import probe, read

ISO = b"urn:iso:std:iso:ts:21496:-1\0"
XMP = b"http://ns.adobe.com/xap/1.0/\0"
FILM = b"a film of the ferry"
GONE = "not kept: the gain map, made for the uncorrected picture; the output is the base picture alone"
KEPT = "data after the end of the picture was kept unchanged"
MPF_GONE = "not kept: the further pictures in the file (MPF)"


def listing(sizes: list[int], offsets: list[int]) -> bytes:
    """An MPF segment's content after CIPA DC-007 5.2: header, version, number of pictures, an entry for each."""
    pictures = zip([0x030000] + [0] * len(sizes), sizes, offsets, strict=False)
    entries = b"".join(struct.pack(">IIIHH", *picture, 0, 0) for picture in pictures)
    tags = struct.pack(">HHI4s", 0xB000, 7, 4, b"0100") + struct.pack(">HHII", 0xB001, 4, 1, len(sizes))
    tags += struct.pack(">HHII", 0xB002, 7, len(entries), 50)
    return b"MPF\0MM\0*" + struct.pack(">IH", 8, 3) + tags + bytes(4) + entries


def xmp(attributes: str, items: str = "") -> bytes:
    """A packet as Adobe's gain map specification 1.0 and the GContainer schema have it."""
    return (
        XMP
        + (
            "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>"
            "<rdf:Description rdf:about='' xmlns:hdrgm='http://ns.adobe.com/hdr-gain-map/1.0/' "
            "xmlns:Container='http://ns.google.com/photos/1.0/container/' "
            f"xmlns:Item='http://ns.google.com/photos/1.0/container/item/' {attributes}>{items}"
            "</rdf:Description></rdf:RDF></x:xmpmeta>"
        ).encode()
    )


def item(kind: str, more: str = "") -> str:
    return f'<rdf:li rdf:parseType="Resource"><Container:Item Item:Semantic="{kind}"{more}/></rdf:li>'


def several(path: Path, further: list[bytes], *more: tuple[int, bytes], between: bytes = b"", shift: int = 0) -> Path:
    """A JPEG with others behind it, listed in an MPF segment; `shift` makes the listing wrong."""
    room = listing([0] * (1 + len(further)), [0] * (1 + len(further)))
    first = file(path, *more, (0xE2, room), quality=90).read_bytes()
    header, sizes, offsets, at = first.index(b"MPF\0") + 4, [len(first)], [0], len(first)
    for picture in further:
        at += len(between)
        sizes.append(len(picture))
        offsets.append(at - header + shift)
        at += len(picture)
    data = first.replace(room, listing(sizes, offsets)) + b"".join(between + picture for picture in further)
    path.write_bytes(data)
    return path


def small(folder: Path, *more: tuple[int, bytes]) -> bytes:
    return file(folder / "small.jpg", *more, pixels=PHOTO[::4, ::4, 0]).read_bytes()


def phone(path: Path) -> Path:
    """A file as phones write it: XMP and MPF in the base picture, the map's figures in its own XMP."""
    figures = 'hdrgm:Version="1.0" hdrgm:GainMapMin="0" hdrgm:GainMapMax="2.5" hdrgm:HDRCapacityMax="2.5"'
    gains = small(path.parent, (0xE1, xmp(figures)))
    mime = ' Item:Mime="image/jpeg"'
    items = item("Primary", mime) + item("GainMap", f'{mime} Item:Length="{len(gains)}"')
    directory = f"<Container:Directory><rdf:Seq>{items}</rdf:Seq></Container:Directory>"
    return several(path, [gains], (0xE1, xmp('hdrgm:Version="1.0"', directory)))


def encoded(path: Path) -> Path:
    """A file by libultrahdr, which names the map by ISO 21496-1."""
    light = np.dstack([(PHOTO / 255.0) ** 2.2 * 4, np.ones(PHOTO.shape[:2])]).astype(np.float16)
    path.write_bytes(imagecodecs.ultrahdr_encode(light))
    return path


@pytest.mark.parametrize("made", [phone, encoded])
def test_the_base_picture_is_read_and_the_gain_map_told(tmp_path: Path, made: object) -> None:
    path = made(tmp_path / "a.jpg")  # type: ignore[operator]
    data = path.read_bytes()
    assert imagecodecs.ultrahdr_decode(data).dtype == np.float16
    base = data[: data.index(b"\xff\xd9\xff\xd8") + 2]
    pixels = read(path).pixels
    np.testing.assert_array_equal(pixels, imagecodecs.jpeg8_decode(base))
    np.testing.assert_array_equal(pixels, np.asarray(Image.open(io.BytesIO(base))))
    assert (probe(path).channels, probe(path).depth) == (3, read(path).depth)
    output = applied(path, notes=(GONE,))
    same_picture(path, output)
    assert segments(output.read_bytes())[1] == b""
    with pytest.raises(imagecodecs.UltrahdrError):
        imagecodecs.ultrahdr_decode(output.read_bytes())
    for word in (b"hdrgm:Version", b"GainMap", ISO, b"MPF\0"):
        assert word not in output.read_bytes()
    kept = [part for part in beside(path) if not part[1].startswith((b"MPF\0", ISO, XMP))]
    assert [part for part in stamped(beside(output)) if not part[1].startswith(XMP)] == kept


def test_xmp_loses_the_gain_map_and_nothing_else(tmp_path: Path) -> None:
    """A picture with a film behind it: the entry of the film counts from the end of the file, and stays true."""
    gains = small(tmp_path)
    film = item("MotionPhoto", f' Item:Length="{len(FILM)}"')
    before = xmp('hdrgm:Version="1.0" Item:Owner="quay"', item("Primary") + item("GainMap") + film)
    path = several(tmp_path / "a.jpg", [gains], (0xE1, before))
    path.write_bytes(path.read_bytes() + FILM)
    output = applied(path, notes=(GONE, KEPT))
    assert stamped(beside(output))[1] == (0xE1, xmp('Item:Owner="quay"', item("Primary") + film))
    assert output.read_bytes().endswith(b"\xff\xd9" + FILM)


@pytest.mark.parametrize("count", [1, 3])
def test_what_stands_between_and_behind_further_pictures_is_kept(tmp_path: Path, count: int) -> None:
    path = several(tmp_path / "a.jpg", [small(tmp_path)] * count, between=b"tide")
    assert Image.open(path).n_frames == 1 + count
    path.write_bytes(path.read_bytes() + FILM)
    output = applied(path, notes=(MPF_GONE, KEPT))
    assert segments(output.read_bytes())[1] == b"tide" * count + FILM


def test_a_listing_that_is_wrong_takes_nothing_away(tmp_path: Path) -> None:
    gains = small(tmp_path)
    path = several(tmp_path / "a.jpg", [gains], shift=7)
    output = applied(path, notes=(MPF_GONE, KEPT))
    assert segments(output.read_bytes())[1] == gains


def test_another_format_tells_the_same(tmp_path: Path) -> None:
    for made, what in ((phone, "XMP, the gain map"), (encoded, "the gain map")):
        path = made(tmp_path / f"{made.__name__}.jpg")
        output = path.with_suffix(".png")
        done = process_frame(Job(path, output, Correction(saturation=0.8), None, "png", None))
        assert isinstance(done, FrameResult), done
        assert done.notes == (f"not kept in PNG: {what}",)
