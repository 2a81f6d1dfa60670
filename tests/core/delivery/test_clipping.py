"""What a correction lost, against numpy on photographs (skimage.data)."""

import numpy as np
import pytest
import skimage.data
from msgspec.structs import replace

from poise.correction import CODED, NEUTRAL, Balance, Correction, Levels
from poise.delivery.clipping import ClippingLoss, loss_of
from poise.delivery.examine import examine
from poise.delivery.faults import faults_of
from poise.delivery.limits import load
from poise.engine import compile_engine
from poise.frames import Depth, Frame
from poise.solve import auto

BASELINE = load("baseline")
CUP = skimage.data.coffee()
ROCKET = skimage.data.rocket()
MOST = 0.02
"""The share that baseline lets a correction lose, as `poise match` does (no published value)."""


@pytest.mark.parametrize("photograph", [CUP, ROCKET], ids=["coffee", "rocket"])
def test_what_reached_an_end_is_what_was_not_there_before(photograph: np.ndarray) -> None:
    black, white = 0.1, 0.8
    found = examine(Frame(photograph, Depth.U8), Correction(levels=Levels(black=black, white=white)), None, BASELINE)
    made = np.floor(255 * np.clip((photograph / 255 - black) / (white - black), 0, 1) + 0.5)
    crushed = ((made == 0) & (photograph > 0)).any(axis=2).mean()
    clipped = ((made == 255) & (photograph < 255)).any(axis=2).mean()
    assert (found.loss.crushed, found.loss.clipped) == pytest.approx((100 * crushed, 100 * clipped), abs=1e-9)
    assert min(crushed, clipped) > 0
    names = {fault.fault for fault in faults_of("cup.png", found, BASELINE)}
    assert {"crushed", "clipped"} & names == {
        name for name, share in (("crushed", crushed), ("clipped", clipped)) if share > MOST
    }


def test_what_the_camera_crushed_is_no_loss() -> None:
    """A cup of which the camera had all shadows at black: a black point of 5 % brings nothing more there."""
    dark = np.where(CUP < 40, 0, CUP).astype(np.uint8)
    found = examine(Frame(dark, Depth.U8), Correction(levels=Levels(black=0.05)), None, BASELINE)
    assert found.readings.blue.crushed > 10
    assert found.loss.crushed == 0


def test_headroom_that_is_drawn_onto_white_is_lost() -> None:
    """Codes over 940 of 10 bits in narrow range are detail over white; an integer correction is held to white."""
    pixels = np.full((10, 10, 3), 500, np.uint16)
    pixels[0, :4] = 980
    narrow = replace(CODED, range="narrow")
    kept = examine(Frame(pixels, Depth.U10), NEUTRAL, narrow, BASELINE)
    held = examine(Frame(pixels, Depth.U10), Correction(saturation=1.1), narrow, BASELINE)
    assert (kept.loss.clipped, held.loss.clipped) == (0, 4)


def test_pixels_in_work_code_lose_the_same() -> None:
    """The app judges a sample of pixels, in work code, by the same rule."""
    correction = Correction(balance=Balance(slope=(1.4, 1.4, 1.4)))
    found = examine(Frame(CUP, Depth.U8), correction, None, BASELINE)
    work = compile_engine(correction, CODED, Depth.U8, output="work").apply(CUP)
    assert loss_of(CUP, work, "full", Depth.U8) == found.loss
    assert found.loss.clipped > 0
    assert found.loss.crushed == 0
    narrow = np.array([[[64, 500, 940], [63, 500, 941], [70, 500, 930]]], np.uint16)  # 64 and 940 are black and white
    levels = np.clip((narrow - np.float32(64)) / np.float32(876), 0, 1).astype(np.float32)
    levels[0, 2] = (0, 0.5, 1)
    assert loss_of(narrow, levels, "narrow", Depth.U10) == ClippingLoss(200 / 3, 200 / 3)


@pytest.mark.parametrize("photograph", [CUP, ROCKET, skimage.data.chelsea()], ids=["coffee", "rocket", "chelsea"])
def test_what_auto_makes_of_a_photograph_passes(photograph: np.ndarray) -> None:
    """The guards of auto and the limit of baseline agree on photographs as they are."""
    frame = Frame(np.ascontiguousarray(photograph[::3, ::3]), Depth.U8)
    correction = auto(frame.colour, CODED, frame.depth).correction
    found = examine(frame, correction, CODED, BASELINE)
    assert correction != NEUTRAL
    assert not {"crushed", "clipped"} & {fault.fault for fault in faults_of("cup.png", found, BASELINE)}
