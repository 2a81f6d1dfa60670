"""EBU R 103: its published codes, and its rule of area on frames with known shares outside."""

from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from msgspec.structs import replace

from poise.correction import CODED, NEUTRAL, Correction, Levels
from poise.delivery.examine import ExaminedFrame, examine
from poise.delivery.fault import describe
from poise.delivery.faults import faults_of
from poise.delivery.limits import load
from poise.delivery.signal_range import Ends, ends, outside
from poise.frames import Depth, Frame, read, write

R103 = load("ebu-r103")
NARROW = replace(CODED, range="narrow")


@pytest.mark.parametrize(
    ("depth", "low", "high"),
    [
        (Depth.U8, 5, 246),  # EBU R 103
        (Depth.U10, 20, 984),  # EBU R 103
        (Depth.U12, 80, 3936),  # EBU R 103, from memory
        (Depth.U16, 1292, 62964),  # -5 % and 105 % of 4096..60160, rounded outward; no source
    ],
)
def test_the_published_codes(depth: Depth, low: int, high: int) -> None:
    assert ends(-5, 105, "narrow", depth) == Ends(low, high, codes=True)


@pytest.mark.parametrize(("depth", "black", "white"), [(Depth.U8, 16, 235), (Depth.U10, 64, 940)])
def test_nominal_black_and_white_are_those_of_bt_709(depth: Depth, black: int, white: int) -> None:
    """ITU-R BT.709-6, item 5."""
    assert ends(0, 100, "narrow", depth) == Ends(black, white, codes=True)


def frame(share: float, outer: int, depth: Depth = Depth.U10, channel: int = 1) -> npt.NDArray[Any]:
    """100 x 100 greys, of which a share, in per cent, has one channel at another code."""
    pixels = np.full((100, 100, 3), 126 << (depth.bits - 8), depth.dtype)
    pixels.reshape(-1, 3)[: round(share * 100), channel] = outer
    return pixels


def examined(pixels: npt.NDArray[Any], depth: Depth = Depth.U10, correction: Correction = NEUTRAL) -> ExaminedFrame:
    return examine(Frame(pixels, depth), correction, NARROW, R103)


@pytest.mark.parametrize(
    ("depth", "outer"),
    [(Depth.U8, 4), (Depth.U8, 247), (Depth.U10, 19), (Depth.U10, 985), (Depth.U12, 3937), (Depth.U16, 1291)],
)
def test_one_per_cent_of_the_picture_may_lie_outside(depth: Depth, outer: int) -> None:
    within, beyond = (examined(frame(share, outer, depth), depth) for share in (0.9, 1.1))
    assert (within.outside, beyond.outside) == pytest.approx((0.9, 1.1), abs=1e-9)
    assert faults_of("quay_02.dpx", within, R103) == ()
    (fault,) = faults_of("quay_02.dpx", beyond, R103)
    assert (fault.fault, fault.limit, fault.unit, fault.source) == ("outside", 1, "%", "EBU R 103")
    assert fault.value == pytest.approx(1.1)


@pytest.mark.parametrize("inner", [20, 984])
def test_the_ends_themselves_lie_inside(inner: int) -> None:
    assert examined(frame(100, inner)).outside == 0


def test_the_same_through_a_10_bit_dpx_file(tmp_path: Path) -> None:
    for share, told in ((0.9, []), (1.1, ["outside"])):
        path = tmp_path / "quay_02.dpx"
        write(path, Frame(frame(share, 985), Depth.U10))
        found = examine(read(path), NEUTRAL, None, R103, "narrow")
        assert found.encoding.range == "narrow"
        assert [fault.fault for fault in faults_of(str(path), found, R103)] == told


def test_it_is_the_delivered_picture_that_counts() -> None:
    """Codes 19 become legal when the correction brings them in; no output is beyond black or white."""
    found = examined(frame(5, 19), correction=Correction(levels=Levels(black=-0.08)))
    assert found.outside == 0


def test_a_full_range_delivery_is_not_what_the_set_is_for() -> None:
    found = examine(Frame(frame(50, 1023), Depth.U10), NEUTRAL, CODED, R103)
    (fault,) = faults_of("quay_02.dpx", found, R103)
    assert (fault.fault, fault.value, fault.limit) == ("range", "full", "narrow")
    assert [one.fault for one in faults_of("quay_02.dpx", found, load("full"))] == []


def test_floats_are_held_to_the_levels() -> None:
    levels = np.full((10, 10, 3), 0.5, np.float32)
    levels[0, :3, 0] = 1.06, -0.06, 1.05
    levels[1, 0, 0] = np.nan
    assert outside(levels, ends(-5, 105, "full", Depth.FLOAT)) == 2


def test_a_range_that_nothing_tells_is_asked_for() -> None:
    found = examine(Frame(frame(50, 1023), Depth.U10), NEUTRAL, None, R103)
    (fault,) = faults_of("quay_02.dpx", found, R103)
    assert describe(fault) == "range unknown, expected narrow (ebu-r103)"
    assert "--range full or --range narrow" in fault.words
    assert not found.loss.clipped
    baseline = examine(Frame(frame(50, 1023), Depth.U10), NEUTRAL, None, load())
    assert not [one for one in faults_of("quay_02.dpx", baseline, load()) if one.of_format]
