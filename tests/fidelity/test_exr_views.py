"""Stereo OpenEXR through the batch: all views are corrected alike, in one part or several.

Files are written and read by OpenEXR's own binding; pixels are read by OpenImageIO as well.
"""

from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
import OpenImageIO as oiio
import pytest
import skimage.data

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import LINEAR, Balance, Correction
from poise.engine import compile_engine
from poise.errors import FrameError
from poise.frames import Depth, read

PHOTO = (skimage.data.astronaut() / 255.0) ** 2.2
LEFT, RIGHT = PHOTO[100:164, 150:230], PHOTO[100:164, 156:236]
LIFT = Correction(balance=Balance(slope=(1.2, 0.9, 1.0), offset=(0.05, 0.0, 0.02)))
Z = np.linspace(0, 9, 64 * 80, dtype=np.float32).reshape(64, 80)


def corrected(pixels: Any, depth: Depth) -> Any:
    return compile_engine(LIFT, LINEAR, depth).apply(pixels.astype(depth.dtype))


def planes(pixels: Any, prefix: str = "") -> dict[str, Any]:
    return {prefix + name: np.ascontiguousarray(pixels[..., index]) for index, name in enumerate("RGB")}


def applied(path: Path, notes: tuple[str, ...] = (), format: str = "exr") -> Path:
    output = path.parent / "out" / f"quay.{format[:4]}"
    made = process_frame(Job(path, output, LIFT, None, format, "half" if format == "tiff" else None))
    assert isinstance(made, FrameResult), made
    assert made.notes == notes
    return output


@pytest.mark.parametrize("prefixes", [("", "right."), ("left.", "right.")])
def test_views_in_one_part(tmp_path: Path, prefixes: tuple[str, str]) -> None:
    eyes = [eye.astype(np.float16) for eye in (LEFT, RIGHT)]
    stored = {
        name: plane for eye, prefix in zip(eyes, prefixes, strict=True) for name, plane in planes(eye, prefix).items()
    }
    stored |= planes(eyes[1], "diffuse.right.") | {"right.Z": Z}
    header = {"multiView": ["left", "right"], "type": OpenEXR.scanlineimage}
    OpenEXR.File(header, dict(stored)).write(str(tmp_path / "quay.exr"))
    output = applied(tmp_path / "quay.exr")
    file = OpenEXR.File(str(output), separate_channels=True)
    assert file.header()["multiView"] == ["left", "right"]
    after = {name: channel.pixels for name, channel in file.channels().items()}
    assert list(after) == list(OpenEXR.File(str(tmp_path / "quay.exr"), separate_channels=True).channels())
    for eye, prefix in zip(eyes, prefixes, strict=True):
        for name, plane in planes(corrected(eye, Depth.HALF), prefix).items():
            np.testing.assert_array_equal(after[name], plane)
    for name in ("diffuse.right.R", "diffuse.right.G", "diffuse.right.B", "right.Z"):
        np.testing.assert_array_equal(after[name], stored[name])


def test_views_in_several_parts(tmp_path: Path) -> None:
    """The right eye is float with alpha and smaller; a part of depth stands between them."""
    cover = np.linspace(0, 1, 70, dtype=np.float32) * np.ones((60, 1), np.float32)
    right = np.ascontiguousarray(RIGHT[:60, :70].astype(np.float32) * cover[..., None])
    window = np.array([0, 0], np.int32), np.array([79, 63], np.int32)
    shared = {"type": OpenEXR.scanlineimage, "displayWindow": window}
    parts = [
        OpenEXR.Part(shared | {"view": "left"}, planes(LEFT.astype(np.float16)), "rgb.left"),
        OpenEXR.Part(dict(shared), {"Z": Z}, "depth"),
        OpenEXR.Part(shared | {"view": "right"}, planes(right) | {"A": cover}, "rgba.right"),
    ]
    OpenEXR.File(parts).write(str(tmp_path / "quay.exr"))
    frame = read(tmp_path / "quay.exr")
    assert [(one.depth, one.channels, one.premultiplied) for one in (frame, *frame.views)] == [
        (Depth.HALF, 3, False),
        (Depth.FLOAT, 4, True),
    ]
    output = applied(tmp_path / "quay.exr")
    source = oiio.ImageInput.open(str(output))
    np.testing.assert_array_equal(source.read_image(0, 0, 0, 3, "half"), corrected(LEFT, Depth.HALF))
    np.testing.assert_array_equal(source.read_image(1, 0, 0, 1, "float")[..., 0], Z)
    found = source.read_image(2, 0, 0, 4, "float")
    straight = corrected(right / np.maximum(cover, 1e-9)[..., None], Depth.FLOAT)
    np.testing.assert_allclose(found[..., :3], straight * cover[..., None], rtol=1e-5, atol=1e-6)
    np.testing.assert_array_equal(found[..., 3], cover)
    file = OpenEXR.File(str(output))
    assert [part.header.get("view") for part in file.parts] == ["left", None, "right"]
    assert [part.header["name"] for part in file.parts] == ["rgb.left", "depth", "rgba.right"]


def test_another_format_takes_the_first_view_and_says_so(tmp_path: Path) -> None:
    header = {"multiView": ["left", "right"], "type": OpenEXR.scanlineimage}
    stored = planes(LEFT.astype(np.float16)) | planes(RIGHT.astype(np.float16), "right.")
    OpenEXR.File(header, dict(stored)).write(str(tmp_path / "quay.exr"))
    output = applied(tmp_path / "quay.exr", ("not kept in TIFF: attributes multiView, the view right",), format="tiff")
    assert oiio.ImageBuf(str(output)).spec().nchannels == 3


def test_two_parts_of_one_view_are_refused(tmp_path: Path) -> None:
    parts = [
        OpenEXR.Part({"view": "left", "type": OpenEXR.scanlineimage}, planes(LEFT.astype(np.float16)), name)
        for name in ("rgb", "diffuse")
    ]
    OpenEXR.File(parts).write(str(tmp_path / "quay.exr"))
    with pytest.raises(FrameError, match=r"more than one part with a picture \(rgb, diffuse\)"):
        read(tmp_path / "quay.exr")


def test_alpha_and_colour_of_mixed_depths(tmp_path: Path) -> None:
    """Each channel keeps its own depth; an alpha of another depth than the colour covers it all the same."""
    cover = np.linspace(0, 1, 80, dtype=np.float32) * np.ones((64, 1), np.float32)
    stored = planes((LEFT * cover[..., None]).astype(np.float16)) | {"A": cover}
    stored["G"] = stored["G"].astype(np.float32)
    OpenEXR.File({"type": OpenEXR.scanlineimage}, dict(stored)).write(str(tmp_path / "quay.exr"))
    spec = oiio.ImageInput.open(str(applied(tmp_path / "quay.exr"))).spec()
    assert dict(zip(spec.channelnames, map(str, spec.channelformats), strict=True)) == {
        "R": "half",
        "G": "float",
        "B": "half",
        "A": "float",
    }
    after = oiio.ImageBuf(str(tmp_path / "out" / "quay.exr")).get_pixels(oiio.FLOAT)
    assert (after[:, 0] == 0).all()
    straight = np.dstack([stored[name].astype(np.float32) for name in "RGB"]) / np.maximum(cover, 1e-9)[..., None]
    expected = corrected(straight, Depth.FLOAT) * cover[..., None]
    np.testing.assert_allclose(after[..., :3], expected, rtol=2**-11, atol=1e-6)
