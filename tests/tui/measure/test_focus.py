"""What a view looks at follows from the hand; without it, all else of the correction stays."""

import numpy as np
from msgspec.structs import replace
from skimage import data

from poise.correction import CODED, NEUTRAL, Correction, Curves, Inside, Levels, Light, Matte
from poise.engine.reference import reference
from poise.frames import Depth
from poise_tui.desk import Hand
from poise_tui.measure.focus import focus_of, without
from poise_tui.measure.view import Focus

SAIL, BUOY = Matte("sail", inside=Inside(exposure=1)), Matte("buoy", inside=Inside(saturation=0.5))
BENT = Curves(green=((0.0, 0.0), (0.4, 0.5), (1.0, 1.0)))
ALL = Correction(light=Light(exposure=0.5), levels=Levels(contrast=1.1), curves=BENT, mattes=(SAIL, BUOY))


def test_a_focus_is_what_the_table_shows() -> None:
    assert focus_of(ALL, Hand()) == focus_of(ALL, Hand(mode="pick", matte=1, channel="red")) == Focus()
    assert focus_of(ALL, Hand(mode="curve", channel="red", shown="matte")) == Focus("curve", channel="red")
    hand = Hand(mode="matte", matte=1, shown="keyed", inverted=True)
    assert focus_of(ALL, hand) == Focus("matte", 1, "keyed", True)


def test_a_matte_still_to_be_made_has_no_place() -> None:
    for hand in (Hand(mode="matte", matte=2), Hand(mode="matte", matte=5)):
        assert focus_of(ALL, hand) == Focus("matte")
    assert focus_of(NEUTRAL, Hand(mode="matte")) == Focus("matte")


def test_without_is_the_correction_before_what_the_hand_is_at() -> None:
    assert without(ALL, Hand()) == without(ALL, Hand(mode="pick")) == NEUTRAL
    assert without(ALL, Hand(mode="curve", channel="red")) == replace(ALL, curves=Curves())
    assert without(ALL, Hand(mode="matte", matte=0)) == replace(ALL, mattes=(replace(SAIL, on=False), BUOY))
    assert without(ALL, Hand(mode="matte", matte=2)) == ALL


def test_without_a_matte_the_picture_is_as_if_it_were_not_there() -> None:
    pixels = data.astronaut()[200:260:4, 200:260:4]
    off = reference(pixels, without(ALL, Hand(mode="matte", matte=0)), CODED, Depth.U8)
    gone = reference(pixels, replace(ALL, mattes=(BUOY,)), CODED, Depth.U8)
    assert np.array_equal(off, gone)
    assert not np.array_equal(off, reference(pixels, ALL, CODED, Depth.U8))
