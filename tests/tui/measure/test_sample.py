"""A sample of a picture against the picture itself: small, and close in all that it is read for."""

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from msgspec.structs import replace

from poise.commands.shared.shots import readings
from poise.correction import CODED, NEUTRAL, Balance, Light
from poise.frames import Depth, Frame, proxy
from poise.scopes.reel import figures
from poise.sidecar.decision import Decision
from poise_tui.measure.loaded import Loaded, loaded
from poise_tui.measure.sample import BYTES, Known, Sample, sample

NUDGED = replace(NEUTRAL, light=Light(0.5), balance=Balance((1.1, 1, 0.9), (0.02, 0, -0.03)))


def read(pixels: np.ndarray, depth: Depth, linear: bool = False) -> Loaded:  # type: ignore[type-arg]
    frame = Frame(pixels.astype(depth.dtype), depth, linear)
    return loaded(Path("quay.tif"), None, frame, proxy(frame.colour))


@pytest.mark.parametrize("name", ["astronaut", "coffee", "rocket", "chelsea"])
@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16, Depth.FLOAT])
def test_a_photographs_sample_says_what_every_pixel_says(name: str, depth: Depth) -> None:
    codes = getattr(skimage.data, name)().astype(np.float64) / 255
    found = read(np.rint(codes * depth.maximum) if not depth.is_float else codes, depth)
    assert found.small is not None
    whole = Frame(found.small, depth)
    made = sample(found)
    assert made.pixels is not None
    assert made.pixels.nbytes <= BYTES
    for correction in (NEUTRAL, NUDGED):
        exact = figures(readings(whole, CODED, correction))
        off = np.abs(figures(made.measured(correction, CODED)[0]) - exact)
        # per cent, measured here: at most 3.1 for the white of the rocket's few lights, and 1.6 elsewhere
        assert off.max() < 4
        assert np.median(off) < 0.5


def test_many_shots_have_smaller_samples_of_every_shape() -> None:
    for shape in ((540, 960, 3), (7, 4000, 3), (1, 1, 1), (540, 960, 1), (90, 3, 3)):
        for most in (BYTES, 4800, 100, 1):
            made = sample(read(np.zeros(shape), Depth.U16), most)
            assert made.pixels is not None
            assert made.pixels.size
            assert made.pixels.nbytes <= max(most, shape[2] * 2)
            assert made.depth is Depth.U12


def test_what_can_not_be_read_or_corrected_has_its_reason_and_no_figures() -> None:
    fog = sample(Loaded(Path("fog.png"), None, fault="the file is empty"))
    assert (fog.pixels, fog.fault) == (None, "the file is empty")
    grey = Known(sample(read(np.full((9, 9, 1), 128), Depth.U8)))
    told = grey.under(Decision(NUDGED))
    assert told.readings is None
    assert "greyscale" in str(told.fault)
    assert np.isnan(told.rows).all()
    well = told.under(Decision())
    assert well.fault is None
    assert well.rows[0, :3].tolist() == pytest.approx([100 * 128 / 255] * 3)


def test_what_is_said_about_a_shot_is_not_measured_again() -> None:
    known = Known(sample(read(np.full((9, 9, 3), 128), Depth.U8))).under(Decision())
    noted = known.under(Decision(note="tide"))
    assert noted.readings is known.readings
    assert noted.decision == Decision(note="tide")
    assert known.under(Decision(NUDGED)).readings is not known.readings
    assert isinstance(known.sample, Sample)
