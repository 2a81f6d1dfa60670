"""Shots beside each other: those of another kind than most, and those that stand apart."""

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.stats import median_abs_deviation

from poise.correction import CODED, NEUTRAL, Encoding
from poise.delivery.examine import ExaminedFrame, examine
from poise.delivery.faults import faults_of_reel
from poise.delivery.limits import load
from poise.frames import Depth, Frame

BASELINE = load("baseline")


def shot(
    level: int = 100, size: tuple[int, int] = (4, 6), depth: Depth = Depth.U8, channels: int = 3, **encoding: str
) -> ExaminedFrame:
    pixels = np.full((*size, channels), level, depth.dtype)
    return examine(Frame(pixels, depth), NEUTRAL, replace(CODED, **encoding) if encoding else None, BASELINE)


def reel(*odd: ExaminedFrame) -> list[tuple[str, ExaminedFrame]]:
    return [(f"quay_{place}.png", one) for place, one in enumerate((shot(), shot(), *odd))]


@pytest.mark.parametrize(
    ("odd", "name", "value", "usual"),
    [
        (shot(size=(4, 8)), "size", "8 x 4", "6 x 4"),
        (shot(depth=Depth.U16), "depth", "16 bit", "8 bit"),
        (shot(channels=4), "channels", "RGB and alpha", "RGB"),
        (shot(range="narrow"), "encoding", "sRGB, ITU-R BT.709, narrow range", "sRGB, ITU-R BT.709, full range"),
    ],
)
def test_one_of_another_kind_than_most(odd: ExaminedFrame, name: str, value: str, usual: str) -> None:
    (fault,) = faults_of_reel(reel(odd), BASELINE)
    assert (fault.file, fault.fault, fault.value, fault.limit) == ("quay_2.png", name, value, usual)


def test_the_same_kind_is_no_fault() -> None:
    assert faults_of_reel(reel(shot()), BASELINE) == ()
    assert faults_of_reel([], BASELINE) == ()


def test_one_that_stands_apart_has_its_modified_z_score() -> None:
    """Iglewicz and Hoaglin 1993; the deviation by scipy."""
    levels = [100, 104, 108, 112, 116, 120, 220]
    shots = [(f"quay_{level}.png", shot(level)) for level in levels]
    (fault,) = faults_of_reel(shots, BASELINE)
    score = (220 - np.median(levels)) / median_abs_deviation(levels, scale="normal")
    assert (fault.file, fault.fault, fault.limit) == ("quay_220.png", "apart", 3.5)
    assert fault.value == pytest.approx(score, rel=1e-3)
    assert "86 %, the reel's is 44 ± 5" in fault.words


def test_encodings_are_compared_as_they_are_delivered() -> None:
    """Other cameras are no fault where one code is delivered."""
    shots = reel()
    camera = examine(
        Frame(np.full((4, 6, 3), 100, np.uint8), Depth.U8), NEUTRAL, Encoding("ITU-R BT.709", "sRGB"), BASELINE
    )
    assert [one.fault for one in faults_of_reel([*shots, ("quay_3.png", camera)], BASELINE)] == []
