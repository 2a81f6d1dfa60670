"""Luminance-chroma OpenEXR through the batch, against what OpenEXR's own RgbaOutputFile and RgbaInputFile make of it.

`luminance_chroma.npz` holds a file that OpenEXR 3.1.5 wrote (RgbaOutputFile, WRITE_YCA, ZIP, setYCRounding(10, 10)),
the premultiplied halves that it was written from, and those that RgbaInputFile reads from it: a part of a photograph
(skimage.data.astronaut) with a grey and a saturated patch. No Python binding has these classes.
"""

from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
import pytest

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import LINEAR, NEUTRAL, Balance, Correction, Light, Tone
from poise.engine import compile_engine
from poise.errors import FrameError
from poise.frames import Depth, probe, read
from poise.frames.codecs.exr.chroma import from_rgb, to_rgb, weights

KEPT = np.load(Path(__file__).with_name("luminance_chroma.npz"))
WRITTEN, SEEN = KEPT["written"], KEPT["read"].astype(np.float32)
BRIGHTER = Correction(light=Light(exposure=0.5))


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    (tmp_path / "quay.exr").write_bytes(KEPT["exr"].tobytes())
    return tmp_path / "quay.exr"


def applied(path: Path, correction: Correction, notes: tuple[str, ...] = (), depth: str | None = None) -> Path:
    output = path.parent / "out" / path.name
    made = process_frame(Job(path, output, correction, None, "exr", depth))
    assert isinstance(made, FrameResult), made
    assert made.notes == notes
    return output


def planes(path: Path) -> dict[str, Any]:
    return dict(OpenEXR.File(str(path), separate_channels=True).channels())


def test_it_is_read_as_the_library_reads_it(quay: Path) -> None:
    frame = read(quay)
    assert (frame.depth, frame.channels, frame.premultiplied) == (Depth.HALF, 4, True)
    assert probe(quay).channels == 4
    np.testing.assert_allclose(frame.pixels, SEEN, atol=2**-10, rtol=2**-9)  # the library rounds to half on the way
    np.testing.assert_array_equal(frame.pixels[..., 3], SEEN[..., 3])


def test_luminance_and_chroma_are_those_that_the_library_writes(quay: Path) -> None:
    stored = planes(quay)
    for name, plane in zip(("Y", "RY", "BY"), from_rgb(WRITTEN[..., :3], weights({})), strict=True):
        np.testing.assert_allclose(plane, stored[name].pixels, atol=2**-10, rtol=2**-9)


def test_it_is_written_as_it_was(quay: Path) -> None:
    output = applied(quay, BRIGHTER)
    before, after = planes(quay), planes(output)
    for name in ("A", "BY", "RY", "Y"):
        assert after[name].pixels.dtype == np.float16
        assert (after[name].xSampling, after[name].ySampling) == (before[name].xSampling, before[name].ySampling)
        assert (after[name].pixels.shape, after[name].pLinear) == (before[name].pixels.shape, before[name].pLinear)
    assert after.keys() == before.keys()
    # exposure scales light, and chroma is a share of it
    np.testing.assert_allclose(after["Y"].pixels, before["Y"].pixels * np.float32(2**0.5), rtol=2**-8, atol=1e-3)
    even = np.abs(after["RY"].pixels - before["RY"].pixels.astype(np.float32))
    assert np.median(even) < 0.01
    np.testing.assert_array_equal(after["A"].pixels, before["A"].pixels)
    frame = read(output)
    straight = compile_engine(BRIGHTER, LINEAR, Depth.FLOAT).apply(SEEN / np.maximum(SEEN[..., 3:], 1e-6))
    off = np.abs(frame.pixels[..., :3] - straight[..., :3] * SEEN[..., 3:])
    assert np.median(off) < 0.002
    assert np.percentile(off, 90) < 0.02


def test_a_neutral_correction_stays_a_copy(quay: Path) -> None:
    assert applied(quay, NEUTRAL).read_bytes() == quay.read_bytes()


def test_grey_stays_grey_and_exact(tmp_path: Path) -> None:
    """ "Converting black-and-white images ... and back is lossless" (ImfRgbaYca.cpp)."""
    grey = np.repeat(WRITTEN[..., 1:2], 3, axis=-1)
    y, ry, by = from_rgb(grey, weights({}))
    assert not ry.any()
    assert not by.any()
    np.testing.assert_array_equal(to_rgb(y, ry, by, weights({})), grey)


def test_negative_colour_is_told(quay: Path) -> None:
    darker = Correction(balance=Balance(offset=(-0.2, -0.2, -0.2)))
    applied(quay, darker, ("negative colour became 0: luminance and chroma hold none",))


def test_at_another_depth_all_channels_take_it(quay: Path) -> None:
    after = planes(applied(quay, Correction(tone=Tone(toe=0.2)), depth="float"))
    assert {channel.pixels.dtype for channel in after.values()} == {np.dtype(np.float32)}


def test_weights_are_those_of_the_primaries() -> None:
    """Rec. ITU-R BT.709-6, item 3.2, and BT.2020-2, table 4: the luma coefficients of their primaries."""
    np.testing.assert_allclose(weights({}), (0.2126, 0.7152, 0.0722), atol=5e-5)
    wide = np.array([0.708, 0.292, 0.170, 0.797, 0.131, 0.046, 0.3127, 0.3290], "<f4").tobytes()
    found = weights({b"chromaticities": (b"chromaticities", wide)})
    np.testing.assert_allclose(found, (0.2627, 0.6780, 0.0593), atol=5e-5)


def test_other_subsampling_is_refused(quay: Path) -> None:
    data = quay.read_bytes()
    at = data.index(b"RY\0") + 3 + 8
    quay.write_bytes(data[:at] + bytes([4]) + data[at + 1 :])
    with pytest.raises(FrameError, match="chroma that isn't half as wide and high as its luminance"):
        read(quay)
