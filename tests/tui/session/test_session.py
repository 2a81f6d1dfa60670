"""The session: what is decided about each shot, step by step and back again."""

from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image

from poise.correction import NEUTRAL, Balance, Correction, Encoding, Levels, Light, Zone, nudge
from poise.errors import PoiseError
from poise.frames import scan
from poise.sidecar import ShotInfo, Sidecar, load, save
from poise.sidecar.decision import UNDECIDED, Decision
from poise_tui.desk import STEPS, Hand
from poise_tui.edits import group
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture

NAMES = ("ferry_02.png", "lighthouse_04.png", "market_03.png", "pier.0101.png", "pier.0102.png", "pier.0103.png")
SHOTS = ["ferry_02.png", "lighthouse_04.png", "market_03.png", "pier.####.png"]
GREY = Picture(8, 4, linear=False, grey=True)


@pytest.fixture
def session(tmp_path: Path) -> Session:
    for name in NAMES:
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return Session(scan([tmp_path]).shots)


def test_undo_goes_back_shot_by_shot_to_the_neutral_start(session: Session) -> None:
    for place in (0, 6, 8):
        group.nudge(session, place, +1)
    session.state("balanced")
    session.go(1)
    group.nudge(session, 1, -1)
    session.go(0)
    last = session.slot.decision
    assert [session.undo() for _ in range(6)] == [True] * 4 + [False] * 2
    assert session.slot.decision == UNDECIDED
    assert session.save_all() == []
    assert not session.slot.shot.sidecar_path.exists()  # nothing was ever saved, so nothing was decided
    assert load(session.slots[1].shot.sidecar_path).correction.balance.offset == (0.0, -0.005, 0.0)
    assert [session.redo() for _ in range(5)] == [True] * 4 + [False]
    assert session.slot.decision == last


def test_a_sidecar_undone_to_the_start_holds_the_neutral_correction_and_state_new(session: Session) -> None:
    group.nudge(session, 6, +1)
    session.state("held", "fog")
    session.save_all()
    assert load(session.slot.shot.sidecar_path).state == "held"
    while session.undo():
        pass
    session.save_all()
    side = load(session.slot.shot.sidecar_path)
    assert (side.correction, side.state, side.note, side.encoding, side.revision) == (NEUTRAL, "new", "", None, 2)


def test_a_new_decision_gives_up_what_was_undone_and_the_same_one_is_no_step(session: Session) -> None:
    group.nudge(session, 6, +1)
    session.undo()
    assert group.nudge(session, 8, +1).moved
    assert not session.redo()
    assert not session.correct(session.slot.decision.correction)
    assert not session.state("new")
    assert session.slot.history.depth == 1


@pytest.mark.parametrize("zone", list(Zone))
def test_nudges_are_those_of_the_correction_times_the_step(session: Session, zone: Zone) -> None:
    session.hold(zone=zone)
    wanted = Balance()
    for by, place, direction in ((0, 0, +1), (+1, 2, -1), (+9, 3, +1), (-9, 1, -1)):
        session.step(by)
        group.nudge(session, place, direction)
        channels = (0, 1, 2) if place == 3 else (place,)
        wanted = nudge(wanted, zone, channels, direction * session.hand.step)
        assert session.slot.decision.correction == Correction(balance=wanted)
    assert session.hand == Hand(0, zone, 0)


def test_the_step_stops_at_either_end(session: Session) -> None:
    assert session.hand.step == 1
    found = []
    for by in [-1] * 4 + [+1] * 8:
        session.step(by)
        found.append(session.hand.step)
    assert (min(found), max(found), found[-1]) == (STEPS[0], STEPS[-1], STEPS[-1])


def test_home_puts_one_control_back(session: Session) -> None:
    for place in (4, 6):
        group.nudge(session, place, +1)
    assert group.home(session, 6).moved
    assert session.slot.decision.correction == Correction(light=Light(warmth=5.0))
    assert not group.home(session, 6).moved


def test_the_second_bank_holds_black_and_white_apart(session: Session) -> None:
    session.next_bank()
    session.step(+9)
    for _ in range(30):
        group.nudge(session, 4, -1)  # 0.04 each
    levels = session.slot.decision.correction.levels
    # "The white point must stand at least 0.02 above the black point", and the black point ends at 0.95
    assert (levels.black, levels.white) == (0.95, 1.0)
    for _ in range(30):
        group.nudge(session, 5, +1)
    assert session.slot.decision.correction.levels == replace(levels, white=0.97)
    group.home(session, 4)
    assert session.slot.decision.correction.levels == Levels(white=0.97)
    session.next_bank()
    assert session.hand.bank == 0


def test_no_key_of_the_desk_changes_the_encoding_and_empty_columns_say_so(session: Session) -> None:
    session.next_bank()
    for place in range(8):
        group.nudge(session, place, +1)
        group.home(session, place)
    assert session.slot.decision.encoding is None
    for place in (8, 9):
        with pytest.raises(PoiseError, match="no control in this column"):
            group.nudge(session, place, +1)
        with pytest.raises(PoiseError, match="no control in this column"):
            group.home(session, place)


def test_the_default_encoding_is_that_of_the_file(session: Session) -> None:
    assert session.slot.encoding == Encoding()
    session.set_picture(0, Picture(8, 4, linear=True, grey=False))
    assert session.slot.encoding == Encoding("linear", "linear")
    assert session.encoding(1) == Encoding()
    assert session.slots[1].picture == Picture(8, 4, linear=False, grey=False)


def test_a_grey_picture_takes_no_columns_that_tell_channels_apart(session: Session) -> None:
    session.set_picture(0, GREY)
    for place in (0, 1, 2, 4, 5):
        with pytest.raises(PoiseError, match="greyscale"):
            group.nudge(session, place, +1)
        with pytest.raises(PoiseError, match="greyscale"):
            group.home(session, place)
    assert all(group.nudge(session, place, +1).moved for place in (3, 6, 7, 8, 9))


def test_paste_takes_the_whole_correction_or_parts_and_leaves_the_rest(session: Session) -> None:
    with pytest.raises(PoiseError, match="nothing was copied"):
        group.paste(session)
    for place in (0, 6, 8):
        group.nudge(session, place, +1)
    session.copy()
    copied = session.slot.decision.correction
    group.nudge(session, 0, +1)
    session.go(1)
    group.nudge(session, 7, +1)
    session.state("held", "tide")
    assert group.paste(session, ("light", "saturation")).moved
    found = session.slot.decision
    assert found.correction == replace(copied, balance=Balance(), levels=found.correction.levels)
    assert found.correction.levels.contrast == 1.02
    assert (found.state, found.note) == ("held", "tide")
    assert group.paste(session, onto=[2]).moved
    assert session.slots[2].decision == Decision(copied)
    assert not group.paste(session, onto=[2]).moved


def test_reset_leaves_encoding_state_and_note(session: Session) -> None:
    group.nudge(session, 0, +1)
    group.encode(session, {"range": "narrow"})
    session.state("held", "tide")
    assert group.reset(session).moved
    assert session.slot.decision == Decision(encoding=Encoding(range="narrow"), state="held", note="tide")
    session.undo()
    assert session.slot.decision.correction.balance.offset[0] == 0.005


def test_a_correction_found_automatically_counts_as_made_by_hand_once_it_is_nudged(session: Session) -> None:
    session.correct(Correction(saturation=1.1), by_hand=False)
    assert not session.slot.decision.by_hand
    group.nudge(session, 8, +1)
    assert session.slot.decision.by_hand
    session.undo()
    assert not session.slot.decision.by_hand


def test_the_next_unfinished_shot_goes_round(session: Session) -> None:
    seen = []
    session.go(2)
    while True:
        session.state("held" if session.index == 3 else "skipped" if session.index == 0 else "balanced")
        seen.append(session.index)
        index = session.unfinished()
        if index is None:
            break
        session.go(index)
    assert seen == [2, 3, 0, 1]


def test_shots_are_found_by_name_going_round(session: Session) -> None:
    assert [slot.shot.name for slot in session.slots] == SHOTS
    assert session.found("KET") == 2
    session.go(2)
    assert session.found("market") == 2
    assert session.found(".png") == 3
    assert session.found("fog") is None


def test_going_stops_at_the_ends_and_ends_before(session: Session) -> None:
    session.before = True
    session.go(-5)
    assert (session.index, session.before) == (0, False)
    session.go(99)
    assert session.index == 3
    session.before = True
    group.nudge(session, 0, +1)
    assert not session.before


def test_frames_of_a_sequence_stop_at_the_ends_and_stay_with_their_shot(session: Session) -> None:
    assert not session.frame(+1)
    session.go(3)
    assert [session.frame(+1) for _ in range(3)] == [True, True, False]
    assert session.slot.file.name == "pier.0103.png"
    session.go(0)
    session.go(3)
    assert session.frame(-1)
    assert session.slot.file.name == "pier.0102.png"


def test_marks_come_and_go(session: Session) -> None:
    session.mark()
    session.go(2)
    session.mark()
    assert session.marked == {0, 2}
    session.mark()
    assert session.marked == {0}


def test_what_is_in_a_sidecar_is_where_undo_ends(session: Session) -> None:
    info, correction = ShotInfo("market_03.png", 8, 4), Correction(saturation=1.2)
    there = Sidecar(shot=info, correction=correction, state="held", note="sun")
    save(session.slots[2].shot.sidecar_path, there, None)
    session.go(2)
    assert session.slot.decision == Decision(Correction(saturation=1.2), state="held", note="sun")
    assert not session.undo()
    group.nudge(session, 8, -1)
    session.undo()
    assert session.save_all() == []
    assert load(session.slot.shot.sidecar_path).revision == 1
