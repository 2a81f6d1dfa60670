"""The sample that nudges are answered from covers what the whole file does."""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from skimage import data

from poise.commands.shared.mattes import covered
from poise.correction import CODED, Correction, Interval, Matte
from poise.correction.model import HueInterval
from poise.frames import Depth, Frame, proxy
from poise_tui.measure.loaded import HEIGHT, SAMPLED, WIDTH, loaded

MATTES = {
    "astronaut": Matte("jacket", hue=HueInterval(90, 150, 15), chroma=Interval(0.05, 1, 0.03)),
    "coffee": Matte("light", luma=Interval(0.6, 1, 0.1)),
    "chelsea": Matte("dark", luma=Interval(0, 0.4, 0.1), invert=True),
    "rocket": Matte("sky", hue=HueInterval(300, 40, 20), chroma=Interval(0.03, 1, 0.02)),
}


@pytest.mark.parametrize("photograph", MATTES)
def test_a_matte_covers_the_sample_as_it_does_full_resolution_within_a_per_cent(photograph: str) -> None:
    pixels = getattr(data, photograph)()
    height, width, _ = pixels.shape
    large = np.asarray(Image.fromarray(pixels).resize((width * 3, height * 3), Image.Resampling.LANCZOS))
    deep = large.astype(np.uint16) * 257
    deep += np.random.default_rng(5).integers(-128, 128, deep.shape).astype(np.uint16) * (large > 0) * (large < 255)
    made = loaded(Path("quay.tif"), None, Frame(deep, Depth.U16), proxy(deep, WIDTH, HEIGHT))
    assert made.sample is not None
    assert made.sample_depth is Depth.U12
    assert made.sample.shape[0] >= SAMPLED
    for denoise, blur in ((0, 0), (0.004, 0.004), (0.014, 0.02), (0, 0.1)):
        correction = Correction(mattes=(replace(MATTES[photograph], denoise=denoise, blur=blur),))
        whole = covered(correction, 0, CODED, deep, Depth.U16)
        seen = covered(correction, 0, CODED, made.sample, made.sample_depth)
        assert seen.share == pytest.approx(whole.share, abs=1)
        assert seen.spread == pytest.approx(whole.spread, abs=2)
