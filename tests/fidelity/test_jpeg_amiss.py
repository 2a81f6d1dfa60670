"""JPEGs that break the standard: what costs nothing of the picture is taken and told, what is missing is refused.

That a picture is whole is told by libjpeg-turbo (imagecodecs) reading the same picture, or the same file, undamaged.
"""

from collections.abc import Callable
from pathlib import Path

import imagecodecs
import numpy as np
import pytest
from jpeg_blocks import PHOTO, applied, beside, coded, file, segments, stamped

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import Correction
from poise.errors import FrameError
from poise.frames import probe, read

STRAY = "not kept: bytes between its segments that belong to none of them"
UNMARKED = "the end of the picture was not marked"
SURPLUS = "not kept: data between the picture and the marker of its end"
SCAN = "a scan has the header of a progressive picture, but the picture is sequential"

Damage = Callable[[bytes], bytes]


def stray(data: bytes) -> bytes:
    at = data.index(b"\xff\xdb")
    return data[:at] + b"\0tide\xff\0\xff\xd0\xff\x01" + data[at:]


def unmarked(data: bytes) -> bytes:
    return data[:-2]


def surplus(data: bytes) -> bytes:
    return data[:-2] + bytes(40) + data[-2:]


def header(data: bytes) -> bytes:
    """The end of the scan's header, 0 to 63 in a sequential picture (T.81 table B.3)."""
    at = data.index(b"\xff\xda")
    return data[: at + 11] + b"\0\0\0" + data[at + 14 :]


def revision(data: bytes) -> bytes:
    return data.replace(b"JFIF\0\1", b"JFIF\0\x09", 1)


@pytest.mark.parametrize(
    ("damage", "progressive", "notes"),
    [
        (stray, False, (STRAY,)),
        (stray, True, (STRAY,)),
        (unmarked, False, (UNMARKED,)),
        (unmarked, True, (UNMARKED,)),
        (surplus, True, (SURPLUS,)),
        (header, False, (SCAN,)),
        (revision, False, ()),  # nothing of it touches the picture, and the segment stays as it is
    ],
)
def test_what_costs_nothing_is_taken_and_told(
    tmp_path: Path, damage: Damage, progressive: bool, notes: tuple[str, ...]
) -> None:
    path = file(tmp_path / "a.jpg", (0xFE, b"quay"), progressive=progressive, quality=90)
    sound = path.read_bytes()
    path.write_bytes(damage(sound))
    np.testing.assert_array_equal(read(path).pixels, imagecodecs.jpeg8_decode(sound))
    assert (probe(path).width, probe(path).height) == (64, 36)
    output = applied(path, notes=notes)
    assert segments(output.read_bytes())[1] == b""
    path.write_bytes(damage(sound) if damage is revision else sound)
    assert stamped(beside(output)) == beside(path)
    assert coded(output) == coded(path)
    done = process_frame(Job(path, tmp_path / "a.png", Correction(saturation=0.8), None, "png", None))
    assert isinstance(done, FrameResult), done


def test_it_is_told_in_another_format_too(tmp_path: Path) -> None:
    path = file(tmp_path / "a.jpg")
    path.write_bytes(unmarked(path.read_bytes()))
    done = process_frame(Job(path, tmp_path / "a.png", Correction(saturation=0.8), None, "png", None))
    assert isinstance(done, FrameResult), done
    assert done.notes == (UNMARKED,)


@pytest.mark.parametrize("damage", [stray, header, revision, unmarked])
def test_missing_data_is_noticed_behind_what_is_harmless(tmp_path: Path, damage: Damage) -> None:
    """libjpeg warns once a file: the harmless warning must not stand in the way of the other."""
    path = file(tmp_path / "a.jpg")
    data = path.read_bytes()
    for missing in (1, 2, 3, 10, 100):
        path.write_bytes(damage(data[: -2 - missing] + b"\xff\xd9"))
        with pytest.raises(FrameError, match="cut short"):
            read(path)


@pytest.mark.parametrize("ending", [b"", b"\xff\xd9"])
@pytest.mark.parametrize("scans", [1, 4, 9])
def test_a_progressive_picture_without_its_last_scans_is_refused(tmp_path: Path, scans: int, ending: bytes) -> None:
    """Cut between two scans: libjpeg finds nothing amiss, and gives a picture without its detail."""
    path = file(tmp_path / "a.jpg", progressive=True)
    data, at = path.read_bytes(), 0
    for _ in range(scans + 1):
        at = data.index(b"\xff\xda", at + 1)
    at = data.rindex(b"\xff\xc4", 0, at)
    path.write_bytes(data[:at] + ending)
    assert imagecodecs.jpeg8_decode(data[:at] + b"\xff\xd9").shape == PHOTO.shape
    with pytest.raises(FrameError, match="ends before its last scans: it is cut short"):
        read(path)


def test_a_file_without_a_picture_is_called_so(tmp_path: Path) -> None:
    path = file(tmp_path / "a.jpg")
    data = path.read_bytes()
    tables = data[: data.index(b"\xff\xc0")] + b"\xff\xd9"  # as in TIFF and motion JPEG (T.81 B.5)
    frame = data.index(b"\xff\xc0")
    unframed = data[:frame] + data[frame + 19 :]
    unscanned = data[: data.index(b"\xff\xda")] + b"\xff\xd9"
    for made in (tables, unframed, unscanned, b"\xff\xd8\xff\xd9"):
        path.write_bytes(made)
        with pytest.raises(FrameError, match="the JPEG holds no picture; copy it again"):
            read(path)
        if made is not unscanned:
            with pytest.raises(FrameError, match="the JPEG holds no picture; copy it again"):
                probe(path)


def test_what_stays_refused_has_its_reason(tmp_path: Path) -> None:
    path = file(tmp_path / "a.jpg", pixels=np.ascontiguousarray(PHOTO))
    data = path.read_bytes()
    at = data.index(b"\xff\xc0")
    two = data[:at] + b"\xff\xc0\0\x0e" + data[at + 4 : at + 9] + b"\2" + data[at + 10 : at + 16] + data[at + 19 :]
    for changed, what in (
        (two, "the JPEG has 2 channels; save it as grey or RGB"),
        (data[: at + 5] + b"\0\0" + data[at + 7 :], "gives its height after the picture"),
    ):
        path.write_bytes(changed)
        for use in (read, probe):
            with pytest.raises(FrameError, match=what):
                use(path)
