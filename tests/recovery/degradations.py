"""What cameras, lenses, lamps and transfers do to a picture, with known numbers drawn from a seed.

Each takes sRGB code, (height, width, 3), and gives sRGB code that may lie outside 0..1; `recorded` makes a file of it.
"""

from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt

from poise.colour.adaptation import light_matrix
from poise.colour.transfer import decode, encode

Code = npt.NDArray[np.float64]
Rng = np.random.Generator


def untouched(code: Code, rng: Rng) -> Code:
    return code


def flat(code: Code, rng: Rng) -> Code:
    """Contrast x 0.65 to 0.8 and a lift of 0.06 to 0.12, in code."""
    return code * rng.uniform(0.65, 0.8) + rng.uniform(0.06, 0.12)


def warm_and_flat(code: Code, rng: Rng) -> Code:
    return flat(_lit(code, rng.uniform(60, 100), 0), rng)


def green_or_magenta_and_under(code: Code, rng: Rng) -> Code:
    """10 to 25 CC of green or magenta, a stop under."""
    return _lit(code, 0, rng.choice([-1, 1]) * rng.uniform(10, 25), stops=-1)


def gains_and_offsets(code: Code, rng: Rng) -> Code:
    """Each channel x 0.7 to 1, and lifted by up to 0.12, in code."""
    return code * rng.uniform(0.7, 1, 3) + rng.uniform(0, 0.12, 3)


def flare(code: Code, rng: Rng) -> Code:
    """A veil of 0.02 to 0.04 in light."""
    return _veiled(code, rng.uniform(0.02, 0.04))


def warm_and_flare(code: Code, rng: Rng) -> Code:
    """As `flare`, all in a light that is 60 to 100 mired warmer."""
    return _lit(flare(code, rng), rng.uniform(60, 100), 0)


DEGRADATIONS: tuple[Callable[[Code, Rng], Code], ...] = (
    untouched,
    flat,
    warm_and_flat,
    green_or_magenta_and_under,
    gains_and_offsets,
    flare,
    warm_and_flare,
)

RECORDINGS = ("8 bit", "noise 0.01", "noise 0.02", "JPEG 85")


def recorded(code: Code, how: str, rng: Rng) -> npt.NDArray[np.uint8]:
    """A file of 8 bits: as it is, with Gaussian noise of that sigma in code, or through JPEG at that quality."""
    kind, _, number = how.partition(" ")
    if kind == "noise":
        code = code + rng.normal(0, float(number), code.shape)
    pixels = np.floor(np.clip(code, 0, 1) * 255 + 0.5).astype(np.uint8)
    if kind == "JPEG":
        _, file = cv2.imencode(".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(number)])
        pixels = np.asarray(cv2.imdecode(file, cv2.IMREAD_COLOR)[..., ::-1], np.uint8)
    return pixels


def _lit(code: Code, warmth: float, magenta: float, stops: float = 0.0) -> Code:
    return encode("sRGB", np.clip(decode("sRGB", code) @ light_matrix(warmth, magenta, stops).T, 0, None))


def _veiled(code: Code, veil: float) -> Code:
    return encode("sRGB", (decode("sRGB", code) + veil) / (1 + veil))
