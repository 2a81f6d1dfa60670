"""What is copied in each mode goes where it is pasted, and leaves all else there as it was."""

from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image

from poise.correction import NEUTRAL, Correction, Curves, Inside, Light, Matte
from poise.errors import PoiseError
from poise.frames import scan
from poise_tui.desk import Hand
from poise_tui.edits import group
from poise_tui.session.clipboard import appended, copied, fresh, label, pasted
from poise_tui.session.session import Session

SAIL, BUOY, LAMP = (
    Matte(name, inside=Inside(exposure=by)) for name, by in (("sail", 1.0), ("buoy", 0.5), ("lamp", -1.0))
)
BENT = Curves(red=((0.0, 0.0), (0.4, 0.5), (1.0, 1.0)))
ALL = Correction(light=Light(exposure=0.5), curves=BENT, mattes=(SAIL, BUOY))


def test_what_is_copied_is_what_the_table_is_for() -> None:
    assert copied(ALL, Hand()) is ALL
    assert copied(ALL, Hand(mode="pick")) is ALL
    assert copied(ALL, Hand(mode="matte", matte=1)) is BUOY
    assert copied(ALL, Hand(mode="curve", channel="blue")) is BENT
    assert [label(what) for what in (ALL, BUOY, BENT)] == ["the correction", "the matte 'buoy'", "the curves"]
    for hand in (Hand(mode="matte", matte=2), Hand(mode="matte", matte=7)):
        with pytest.raises(PoiseError, match="no matte to copy"):
            copied(ALL, hand)


def test_a_matte_is_added_behind_the_others_under_a_name_that_is_free() -> None:
    there = Correction(saturation=1.2, mattes=(LAMP, replace(BUOY, inside=Inside(turn=5.0))))
    found = pasted(there, BUOY)
    assert found == replace(there, mattes=(*there.mattes, replace(BUOY, name="buoy 2")))
    assert pasted(found, BUOY).mattes[-1] == replace(BUOY, name="buoy 3")
    assert pasted(NEUTRAL, BUOY) == Correction(mattes=(BUOY,))


def test_curves_take_the_place_of_curves_alone() -> None:
    there = Correction(saturation=1.2, curves=Curves(master=((0.0, 0.1), (1.0, 1.0))), mattes=(LAMP,))
    assert pasted(there, BENT) == replace(there, curves=BENT)


def test_a_correction_is_pasted_whole_or_in_parts() -> None:
    there = Correction(saturation=1.2, mattes=(LAMP,))
    assert pasted(there, ALL) == ALL
    assert pasted(there, ALL, ("light", "mattes")) == Correction(ALL.light, saturation=1.2, mattes=ALL.mattes)


def test_the_ninth_matte_is_refused() -> None:
    full = NEUTRAL
    for _ in range(8):
        full = appended(full, SAIL)
    assert [matte.name for matte in full.mattes] == ["sail", *(f"sail {count}" for count in range(2, 9))]
    with pytest.raises(PoiseError, match="at most 8 mattes"):
        pasted(full, BUOY)


def test_a_fresh_name_counts_on_and_stays_within_what_the_model_takes() -> None:
    named = ("matte 1", "matte 2", "9", "L" * 64)
    taken = Correction(mattes=tuple(Matte(name) for name in named))
    assert [fresh(name, taken) for name in ("sea", "matte 1", "matte 2", "matte 7", "9")] == [
        *("sea", "matte 3", "matte 3", "matte 7", "9 2")
    ]
    assert fresh("L" * 64, taken) == "L" * 60 + " 2"
    assert all(len(appended(taken, Matte(name)).mattes[-1].name) <= 64 for name in named)


def test_a_matte_goes_to_another_shot_behind_its_own(tmp_path: Path) -> None:
    for name in ("ferry.png", "market.png"):
        Image.new("RGB", (8, 4)).save(tmp_path / name)
    session = Session(scan([tmp_path]).shots)
    session.work("matte")
    session.correct(ALL)
    session.hold(matte=1)
    session.copy()
    session.go(1)
    session.correct(Correction(saturation=0.9, mattes=(replace(LAMP, name="buoy"),)))
    assert group.paste(session).moved
    found = session.slot.decision.correction
    assert found == Correction(saturation=0.9, mattes=(replace(LAMP, name="buoy"), replace(BUOY, name="buoy 2")))
    assert session.slots[0].decision.correction == ALL
    session.undo()
    assert len(session.slot.decision.correction.mattes) == 1
