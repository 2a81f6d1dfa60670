"""Premultiplied alpha of OpenEXR and TIFF through the batch; divided and multiplied again by OpenImageIO."""

from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
import tifffile

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import CODED, LINEAR, NEUTRAL, Balance, Correction
from poise.engine import compile_engine
from poise.frames import Depth

PHOTO = (skimage.data.astronaut()[100:164, 150:230] / 255.0) ** 2.2 * 3
COVER = np.clip(np.linspace(-0.2, 1.2, 80) * np.ones((64, 1)), 0, 1)
LIFT = Correction(balance=Balance(slope=(1.1, 0.9, 1.0), offset=(0.1, 0.05, 0.02)))


@pytest.fixture(params=[np.float16, np.float32])
def quay(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    kind = oiio.HALF if request.param is np.float16 else oiio.FLOAT
    spec = oiio.ImageSpec(80, 64, 4, kind)
    spec.channelnames = ("R", "G", "B", "A")
    pixels = np.dstack([PHOTO * COVER[..., None], COVER]).astype(request.param)
    pixels[3, 3] = (2.0, 1.0, 0.5, 0.0)  # a glow
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(tmp_path / "quay.exr"), spec)
    assert out.write_image(np.ascontiguousarray(pixels))
    assert out.close()
    return tmp_path / "quay.exr"


def applied(path: Path, correction: Correction, format: str = "exr", depth: str | None = None) -> Path:
    output = path.parent / "out" / f"quay.{format[:4]}"
    made = process_frame(Job(path, output, correction, None, format, depth))
    assert isinstance(made, FrameResult), made
    return output


def pixels(buffer: oiio.ImageBuf) -> Any:
    assert not buffer.geterror()
    return buffer.get_pixels(oiio.FLOAT)


def opened(path: Path) -> oiio.ImageBuf:
    """A picture in float, with its alpha as the file stores it."""
    config = oiio.ImageSpec()
    config.attribute("oiio:UnassociatedAlpha", 1)
    buffer = oiio.ImageBuf(str(path), 0, 0, config)
    assert buffer.read(0, 0, True, oiio.FLOAT)
    return buffer


def straight(path: Path) -> Any:
    """The straight colour of a premultiplied file; OpenImageIO leaves pixels of alpha 0 as they are."""
    return pixels(oiio.ImageBufAlgo.unpremult(opened(path)))


def test_exr_is_divided_corrected_and_multiplied(quay: Path) -> None:
    output = applied(quay, LIFT)
    corrected = compile_engine(LIFT, LINEAR, Depth.FLOAT).apply(straight(quay))
    again = oiio.ImageBuf(oiio.ImageSpec(80, 64, 4, oiio.FLOAT))
    again.set_pixels(oiio.ROI(0, 80, 0, 64, 0, 1, 0, 4), corrected)
    expected = pixels(oiio.ImageBufAlgo.premult(again))
    before, after = pixels(opened(quay)), pixels(opened(output))
    half = oiio.ImageBuf(str(quay)).spec().format == oiio.HALF
    solid = before[..., 3] > 0
    np.testing.assert_allclose(after[solid], expected[solid], rtol=2**-11 if half else 2**-21, atol=1e-7)
    np.testing.assert_array_equal(after[~solid], before[~solid])  # nothing there is lifted, and the glow stays
    assert (after[~solid] == 0).any()


def test_a_neutral_correction_stays_a_copy(quay: Path) -> None:
    assert applied(quay, NEUTRAL).read_bytes() == quay.read_bytes()


@pytest.mark.parametrize("format", ["tiff", "png"])
def test_into_straight_alpha_it_is_divided(quay: Path, format: str) -> None:
    output = applied(quay, NEUTRAL, format, "16")
    divided = oiio.ImageBufAlgo.unpremult(opened(quay))
    wanted = oiio.ImageBufAlgo.colorconvert(divided, "linear", "sRGB", unpremult=False)
    after = pixels(opened(output))
    solid = COVER > 0
    np.testing.assert_allclose(after[solid], np.clip(pixels(wanted), 0, 1)[solid], atol=1.5 / 65535)
    back = process_frame(Job(output, output.with_suffix(".exr"), NEUTRAL, None, "exr", "float"))
    assert isinstance(back, FrameResult), back
    clipped = np.clip(straight(quay)[..., :3], 0, 1) * pixels(opened(quay))[..., 3:]
    after = pixels(opened(output.with_suffix(".exr")))
    np.testing.assert_allclose(after[solid][:, :3], clipped[solid], atol=1e-4)


@pytest.mark.parametrize("kind", ["u1", "u2", "f2", "f4"])
@pytest.mark.parametrize("options", [{}, {"compression": "zlib", "tile": (16, 16)}, {"planarconfig": "separate"}])
def test_tiff_with_associated_alpha_is_divided_corrected_and_multiplied(
    tmp_path: Path, kind: str, options: dict[str, Any]
) -> None:
    """TIFF 6.0 section 18, ExtraSamples 1; the batch is to give the same as OpenImageIO's unpremult and premult."""
    source, full = tmp_path / "quay.tif", np.iinfo(kind).max if kind[0] == "u" else 1
    light = np.dstack([PHOTO / PHOTO.max() * COVER[..., None], COVER])
    stored = np.rint(light * full).astype(kind) if kind[0] == "u" else light.astype(kind)
    written = np.moveaxis(stored, 2, 0) if "planarconfig" in options else stored
    tifffile.imwrite(
        source, np.ascontiguousarray(written), photometric="rgb", extrasamples=[1], metadata=None, **options
    )
    output = tmp_path / "out" / "quay.tif"
    made = process_frame(Job(source, output, LIFT, None, "tiff", None))
    assert isinstance(made, FrameResult), made
    assert made.notes == ()
    with tifffile.TiffFile(output) as tif:
        assert tuple(map(int, tif.pages[0].extrasamples)) == (1,)
        after = tif.pages[0].asarray()
    after = np.moveaxis(after, 0, 2) if "planarconfig" in options else after
    encoding = CODED if kind[0] == "u" else LINEAR
    corrected = compile_engine(LIFT, encoding, Depth.FLOAT).apply(straight(source))
    again = oiio.ImageBuf(oiio.ImageSpec(80, 64, 4, oiio.FLOAT))
    again.set_pixels(oiio.ROI(0, 80, 0, 64, 0, 1, 0, 4), np.clip(corrected, 0, 1) if kind[0] == "u" else corrected)
    expected = pixels(oiio.ImageBufAlgo.premult(again))
    solid = stored[..., 3] > 0
    # whole codes are rounded twice: the straight ones, and the result
    step = {"u1": 1.5 / 255, "u2": 1.5 / 65535, "f2": 2**-10, "f4": 2**-20}[kind]
    np.testing.assert_allclose(after[solid] / full, expected[solid], atol=step)
    np.testing.assert_array_equal(after[..., 3], stored[..., 3])
    assert (after[~solid] == 0).all()
    assert (~solid).any()
    copied = process_frame(Job(source, tmp_path / "copy.tif", NEUTRAL, None, "tiff", None))
    assert isinstance(copied, FrameResult), copied
    assert (tmp_path / "copy.tif").read_bytes() == source.read_bytes()
