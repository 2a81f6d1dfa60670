"""Whole files or none: what reading refuses, and what writing leaves behind."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import clips
import numpy as np
import pytest
from PIL import Image

from poise.errors import FrameError, OutputError
from poise.frames import Depth, Frame, probe, read, write
from poise.frames.codecs import FORMATS, WRITTEN, by_extension

EXTENSION = {name: kind.extensions[0] for name, kind in FORMATS.items()}
LOSSLESS = [
    (name, depth, channels)
    for name, kind in FORMATS.items()
    if name in WRITTEN and name != "jpeg"
    for depth in kind.depths
    for channels in kind.channels
]


def picture(depth: Depth, height: int, width: int, channels: int) -> Frame:
    rng = np.random.default_rng(height * width + channels)
    if not depth.is_float:
        pixels = rng.integers(0, depth.maximum, (height, width, channels), depth.dtype, endpoint=True)
        return Frame(pixels, depth)
    pixels = (rng.normal(0, 2, (height, width, channels)) * 10.0 ** rng.integers(-4, 4)).astype(depth.dtype)
    odd = np.array([np.nan, np.inf, -np.inf, -0.0], depth.dtype)
    pixels.ravel()[: min(4, pixels.size)] = odd[: min(4, pixels.size)]
    return Frame(pixels, depth, linear=True)


@pytest.mark.parametrize(("height", "width"), [(1, 1), (1, 5000), (5000, 1), (37, 53)])
@pytest.mark.parametrize(("name", "depth", "channels"), LOSSLESS)
def test_neutral_round_trip(tmp_path: Path, name: str, depth: str, channels: int, height: int, width: int) -> None:
    """Written, read, written again: the same values bit for bit, depth and ICC."""
    frame = picture(Depth(depth), height, width, channels)
    frame = replace(frame, premultiplied=name == "exr" and frame.alpha)
    if FORMATS[name].icc:
        frame = replace(frame, icc=b"a profile" * 20)
    one, two = tmp_path / f"one{EXTENSION[name]}", tmp_path / f"two{EXTENSION[name]}"
    write(one, frame)
    write(two, read(one))
    again = read(two)
    assert (again.depth, again.icc, again.pixels.dtype) == (frame.depth, frame.icc, frame.pixels.dtype)
    assert again.pixels.shape == frame.pixels.shape
    assert again.pixels.tobytes() == frame.pixels.tobytes()
    header = probe(two)
    assert (header.width, header.height, header.channels) == (width, height, channels)
    assert (header.depth, header.format, header.linear) == (frame.depth, name, frame.depth.is_float)
    assert again.linear == header.linear


@pytest.mark.parametrize("source", ["tiff", "png"])
@pytest.mark.parametrize("target", ["tiff", "png", "jpeg", "dpx"])
def test_another_format(tmp_path: Path, source: str, target: str) -> None:
    first, second = tmp_path / f"a{EXTENSION[source]}", tmp_path / f"b{EXTENSION[target]}"
    frame = replace(picture(Depth.U8, 9, 11, 3), pixels=np.full((9, 11, 3), 90, np.uint8), icc=b"profile" * 30)
    write(first, frame)
    write(second, read(first), format=target)
    again = read(second)
    np.testing.assert_array_equal(again.pixels, frame.pixels)
    assert again.icc == (frame.icc if FORMATS[target].icc else None)


@pytest.mark.parametrize(
    ("name", "depth", "channels", "reason"),
    [
        ("a.png", Depth.HALF, 3, "PNG can't hold half; choose a depth of 8 or 16"),
        ("a.png", Depth.U10, 3, "PNG can't hold 10 bit; choose a depth of 8 or 16"),
        ("a.jpg", Depth.U16, 3, "JPEG can't hold 16 bit; choose a depth of 8"),
        ("a.jpg", Depth.U8, 4, "JPEG can't hold alpha; choose another format"),
        ("a.exr", Depth.U16, 3, "OpenEXR can't hold 16 bit; choose a depth of half or float"),
        ("a.dpx", Depth.FLOAT, 3, "DPX can't hold float; choose a depth of 8 or 10 or 12 or 16"),
        ("a.dpx", Depth.U8, 2, "DPX can't hold grey with alpha; choose another format"),
        ("a.gif", Depth.U8, 3, "no format to write .gif; use tiff, png, jpeg, exr, dpx"),
        ("a.bmp", Depth.U8, 3, "poise reads BMP and doesn't write it; use tiff, png, jpeg, exr, dpx"),
    ],
)
def test_what_a_format_cannot_hold(tmp_path: Path, name: str, depth: Depth, channels: int, reason: str) -> None:
    with pytest.raises(OutputError) as told:
        write(tmp_path / name, picture(depth, 4, 4, channels))
    assert told.value.reason == reason
    assert list(tmp_path.iterdir()) == []


def put(path: Path, frame: Frame) -> None:
    """Writes a frame, by Pillow where poise only reads the format; in place of a clip, one of an even grey."""
    kind = by_extension(path)
    assert kind is not None
    if kind.name == "clip":
        clips.clip(path, "prores_ks", "yuv422p10le", clips.greys([360], "yuv422p10le", frame.width, frame.height))
    elif kind.written_as:
        Image.fromarray(frame.pixels).save(path, format=kind.title)
    else:
        write(path, frame)


def saved(path: Path) -> bytes:
    depth = Depth.HALF if path.suffix == ".exr" else Depth.U8
    put(path, picture(depth, 64, 64, 3))
    return path.read_bytes()


@pytest.mark.parametrize("ending", EXTENSION.values())
@pytest.mark.parametrize("share", [0.0, 0.001, 0.1, 0.5, 0.97])
def test_cut_short_is_an_error_never_a_grey_picture(tmp_path: Path, ending: str, share: float) -> None:
    path = tmp_path / f"quay{ending}"
    data = saved(path)
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(FrameError) as told:
        read(path)
    assert "\n" not in told.value.reason
    if share == 0:
        assert told.value.reason == "the file is empty; copy it again"


@pytest.mark.parametrize("share", [0.4, 0.999])
@pytest.mark.parametrize("compression", ["zlib", "lzw", "zstd", "packbits"])
def test_a_cut_compressed_tiff_is_an_error(tmp_path: Path, compression: str, share: float) -> None:
    import tifffile

    path = tmp_path / "quay.tif"
    noise = picture(Depth.U16, 64, 64, 3).pixels
    tifffile.imwrite(path, noise, photometric="rgb", compression=compression, rowsperstrip=16)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(FrameError):
        read(path)


@pytest.mark.parametrize("ending", [".tif", ".png", ".exr", ".dpx"])
def test_a_name_that_lies(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"quay{ending}"
    Image.new("RGB", (4, 4)).save(path, "JPEG")
    for use in (read, probe):
        with pytest.raises(FrameError, match="holds a JPEG file; rename it or convert it"):
            use(path)


def test_other_things_in_a_picture_s_place(tmp_path: Path) -> None:
    (tmp_path / "folder.tif").mkdir()
    os.mkfifo(tmp_path / "pipe.tif")
    (tmp_path / "text.png").write_text("not a picture at all")
    (tmp_path / "anim.png").write_bytes(b"GIF89a" + bytes(40))
    (tmp_path / "notes.txt").write_text("notes")
    expected = {
        "folder.tif": "this is a folder, not a picture",
        "pipe.tif": "this is not a regular file, so it can't hold a picture",
        "text.png": "this is no PNG file, or its start is damaged; copy it again",
        "anim.png": "its name says PNG but it holds a GIF file; rename it or convert it",
        "notes.txt": "poise reads no pictures with this ending (.txt); it reads TIFF, PNG, JPEG, OpenEXR, DPX, WebP, "
        "BMP, movie",
        "none.tif": "no such file or directory",
    }
    for name, reason in expected.items():
        with pytest.raises(FrameError) as told:
            read(tmp_path / name)
        assert told.value.reason == reason


def test_permission_denied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    saved(tmp_path / "quay.png")

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "open", denied)
    with pytest.raises(FrameError, match="permission denied"):
        read(tmp_path / "quay.png")


def test_a_full_disk_leaves_the_old_file_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "quay.dpx"
    before = saved(path)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OutputError) as told:
        write(path, picture(Depth.U8, 64, 64, 3))
    assert told.value.reason == "no space left on device"
    assert told.value.path == path
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["quay.dpx"]


@pytest.mark.parametrize("size", [4, 64])
@pytest.mark.parametrize("name", WRITTEN)
def test_a_device_that_is_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, size: int) -> None:
    """The kernel's /dev/full refuses every byte: each codec must tell, not only the plain ones."""
    if not os.path.exists("/dev/full"):
        pytest.skip("this system has no /dev/full")
    target = tmp_path / f"quay{EXTENSION[name]}"

    @contextmanager
    def onto_it(path: Path) -> Iterator[Path]:
        (link := tmp_path / "link").symlink_to("/dev/full")
        try:
            yield link
        finally:
            link.unlink()

    monkeypatch.setattr("poise.frames.store.atomic_replace", onto_it)
    with pytest.raises(OutputError):
        write(target, picture(Depth(FORMATS[name].depths[0]), size, size, 3))
    assert list(tmp_path.iterdir()) == []


def test_no_folder_to_write_in(tmp_path: Path) -> None:
    for name in WRITTEN:
        with pytest.raises(OutputError) as told:
            write(tmp_path / "none" / "a", picture(Depth(FORMATS[name].depths[0]), 4, 4, 3), format=name)
        assert told.value.path == tmp_path / "none" / "a"


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "fähre 港\n.png"
    saved(path)
    frame = picture(Depth.U16, 5, 7, 4)
    write(path, frame)
    np.testing.assert_array_equal(read(path).pixels, frame.pixels)
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("name", EXTENSION)
def test_odd_names(tmp_path: Path, name: str) -> None:
    frame = picture(Depth(FORMATS[name].depths[0]), 4, 4, 3)
    for stem in ("ferry at night", "what?is=this", "fähre 港", "two\nlines", "pier_%04d", "pier.####"):
        path = tmp_path / f"{stem}{EXTENSION[name]}"
        put(path, frame)
        assert read(path).pixels.shape == (4, 4, 3)


@pytest.mark.parametrize("name", EXTENSION)
def test_a_name_that_is_no_utf8(tmp_path: Path, name: str) -> None:
    path = tmp_path / os.fsdecode(b"\xff\xfe" + EXTENSION[name].encode())
    frame = picture(Depth(FORMATS[name].depths[0]), 4, 4, 3)
    put(path, frame)
    assert read(path).pixels.shape == (4, 4, 3)
