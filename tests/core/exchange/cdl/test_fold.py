"""What folds exactly, and which parts are named where not all does."""

import numpy as np
import pytest

from poise.correction import CODED, LINEAR, Balance, Correction, Curves, Encoding, Inside, Levels, Light, Matte, Tone
from poise.engine.reference import reference
from poise.exchange.cdl import Cdl, fold, parts_beyond_cdl
from poise.frames.frame import Depth

# ASC CDL v1.2, published order, by OpenColorIO with OPTIMIZATION_LOSSLESS (to 1e-6)
PUBLISHED = Cdl((1.1, 1.0, 0.9), (0.02, -0.03, 0.05), (0.9, 1.0, 1.2), 1.25)
SEEN = np.array([[0.18, 0.18, 0.18], [0.5, 0.25, 0.75], [1.0, 0.0, 0.02], [-0.1, 0.01, 1.3]])
CLAMPED = [[0.274218, 0.144381, 0.151199], [0.670044, 0.191346, 0.766144], [1, 0, 0], [0, 0, 1]]
FREE = [*CLAMPED[:2], [1.330013, -0.091710, -0.004560], [-0.127055, -0.039555, 1.572317]]
# the same by levels on top of a balance: 0.6 / (0.6 - 0.1) (v - 0.1) + 0.5 (1 - 0.6)
LEVELS = Levels(black=0.1, white=0.6, contrast=0.6, pivot=0.5)
SPLIT = Correction(
    balance=Balance(
        tuple(s / 1.2 for s in PUBLISHED.slope),  # type: ignore[arg-type]
        tuple((o - 0.2) / 1.2 + 0.1 for o in PUBLISHED.offset),  # type: ignore[arg-type]
        PUBLISHED.power,
    ),
    levels=LEVELS,
    saturation=1.25,
)


def close(one: Cdl, other: Cdl) -> bool:
    pairs = zip((one.slope, one.offset, one.power), (other.slope, other.offset, other.power), strict=True)
    return all(np.allclose(a, b, atol=1e-12) for a, b in pairs) and one.saturation == other.saturation


def test_levels_fold_into_slope_and_offset() -> None:
    assert close(fold(SPLIT), PUBLISHED)
    assert parts_beyond_cdl(SPLIT, CODED) == ()


@pytest.mark.parametrize("correction", [PUBLISHED.correction, SPLIT], ids=["balance", "levels"])
def test_published_values(correction: Correction) -> None:
    """The chain of a correction that folds is an ASC CDL: clamped for integers, not at all for float."""
    held = reference(SEEN, correction, CODED, Depth.FLOAT, Depth.U16)
    assert held == pytest.approx(np.array(CLAMPED), abs=1e-6)
    free = reference(SEEN, correction, CODED, Depth.FLOAT)
    assert free == pytest.approx(np.array(FREE), abs=1e-6)


@pytest.mark.parametrize(
    ("correction", "encoding", "parts"),
    [
        (Correction(), CODED, ()),
        (Correction(), LINEAR, ()),
        (Correction(mattes=(Matte("buoy"),)), CODED, ()),
        (Correction(mattes=(Matte("buoy", on=False, inside=Inside(turn=9)),), saturation=0), CODED, ()),
        (Correction(levels=Levels(pivot=0.3), tone=Tone()), CODED, ()),
        (Correction(saturation=1.1), Encoding("ACEScct", "ACEScct"), ()),
        (Correction(saturation=1.1), Encoding(range="narrow"), ()),
        (Correction(saturation=1.1), LINEAR, ("balance in sRGB code of linear light",)),
        (Correction(light=Light(exposure=1)), LINEAR, ("light",)),
        (Correction(), Encoding("ACEScct", "sRGB"), ("conversion from ACEScct to sRGB",)),
        (Correction(), Encoding(delivery_primaries="Display P3"), ("conversion from ITU-R BT.709 to Display P3",)),
        (
            Correction(
                light=Light(warmth=5),
                tone=Tone(toe=0.1),
                curves=Curves(red=((0, 0), (1, 0.9))),
                mattes=(Matte("buoy", inside=Inside(turn=9)),),
            ),
            CODED,
            ("light", "tone", "curves", "mattes"),
        ),
    ],
)
def test_parts_that_do_not_fit_are_named(correction: Correction, encoding: Encoding, parts: tuple[str, ...]) -> None:
    assert parts_beyond_cdl(correction, encoding) == parts
