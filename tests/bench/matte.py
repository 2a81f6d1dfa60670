"""One matte with a blur on a UHD 16-bit frame, on two threads, against a plain copy; then the parts by themselves."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from measure import medians, row, uhd
from msgspec.structs import replace

from poise.correction import CODED, Balance, Correction, Matte
from poise.correction.model import HueInterval, Inside, Interval
from poise.engine import compile_engine, matte_of
from poise.engine.gaussian import blur
from poise.engine.median import denoise
from poise.frames.frame import Depth

pixels = uhd()
result = np.empty_like(pixels)
balance = Balance((1.05, 1.0, 0.95), (0.01, 0.0, -0.01))
suit = Matte(
    "jacket",
    blur=0.004,
    hue=HueInterval(95, 140, 10),
    chroma=Interval(0.18, 1, 0.04),
    inside=Inside(exposure=0.3, turn=20, saturation=1.1),
)
plain = Correction(balance=balance, saturation=1.1)
keyed = replace(plain, mattes=(suit,))
noisy = replace(plain, mattes=(replace(suit, denoise=0.001),))
engines = [compile_engine(correction, CODED, Depth.U16) for correction in (plain, keyed, noisy)]
shown = matte_of(keyed, 0, CODED, Depth.U16)
values = shown.apply(pixels, 2)
print(f"the matte takes {np.count_nonzero(values) / values.size:.0%} of the frame")

without, one, with_median, matte, copy = medians(
    *[lambda engine=engine: engine.apply(pixels, 2) for engine in engines],
    lambda: shown.apply(pixels, 2),
    lambda: np.copyto(result, pixels),
    runs=9,
)
row("UHD u16, one matte with blur, 2 threads", one, copy, 0.2, "s")
# where the same correction without a matte takes 27 ms on two threads, 200 ms are 7.4 times as much
row("the same, against the correction without the matte", one, without, 7.4)
row("the matte alone, for showing it", matte, copy, 0.2, "s")
with ThreadPoolExecutor(2) as pool:
    narrow, wide, five, eleven = medians(
        lambda: blur(values, 8.64, pool),
        lambda: blur(values, 216, pool),
        lambda: denoise(values, 2, pool),
        lambda: denoise(values, 5, pool),
        runs=9,
    )
for what, seconds in (
    ("the same without the matte", without),
    ("the same with denoise 0.001, a 5x5 median", with_median),
    ("Gaussian, sigma 0.004 of the height", narrow),
    ("Gaussian, sigma 0.1 of the height", wide),
    ("5x5 median of the blurred matte", five),
    ("11x11 median of the blurred matte", eleven),
):
    print(f"{what:58s} {seconds * 1e3:9.1f} ms")
