"""What goes to several shots at once: each from where it stands, as one step, and back again together."""

from pathlib import Path

import pytest
from PIL import Image

from poise.correction import NEUTRAL, Correction, Encoding, Light, Matte, Zone
from poise.errors import PoiseError
from poise.frames import scan
from poise.sidecar import load
from poise.sidecar.decision import UNDECIDED, Decision
from poise_tui.edits import group
from poise_tui.session.session import Session

NAMES = ("ferry.png", "lighthouse.png", "market.png", "pier.png", "quay.png")


@pytest.fixture
def session(tmp_path: Path) -> Session:
    """Five shots; the first current, the second, third and last marked."""
    for name in NAMES:
        mode, colour = ("L", 90) if name == "pier.png" else ("RGB", (90, 100, 110))
        Image.new(mode, (8, 4), colour).save(tmp_path / name)  # type: ignore[arg-type]
    session = Session(scan([tmp_path]).shots)
    session.marked, session.together = {1, 2, 4}, True
    return session


def offsets(session: Session) -> list[float]:
    return [round(slot.decision.correction.balance.offset[0], 6) for slot in session.slots]


def nudge(session: Session, place: int = 0, direction: int = +1) -> str:
    return group.summary(session, group.nudge(session, place, direction), "moved", "at the limit")


def alone(session: Session, place: int, direction: int = +1) -> None:
    """Nudges the current shot only."""
    session.together = False
    group.nudge(session, place, direction)
    session.together = True


def test_each_shot_moves_by_the_same_step_from_where_it_stands(session: Session) -> None:
    session.go(1)
    alone(session, 0, +1)
    session.go(0)
    assert nudge(session) == ""
    assert offsets(session) == [0.005, 0.01, 0.005, 0, 0.005]
    session.step(+1)
    assert nudge(session, direction=-1) == ""
    assert offsets(session) == [-0.005, 0, -0.005, 0, -0.005]


@pytest.mark.parametrize("zone", list(Zone))
@pytest.mark.parametrize("place", range(10))
def test_a_group_moves_as_each_would_alone(session: Session, zone: Zone, place: int) -> None:
    session.hold(zone=zone)
    session.correct(Correction(light=Light(0.5), saturation=1.1), index=2)
    nudge(session, place)
    found = [slot.decision for slot in session.slots]
    for index in (0, 1, 2, 4):
        session.undo(index)
        session.go(index)
        alone(session, place, +1)
        assert session.slot.decision == found[index]
    assert found[3] == UNDECIDED


def test_undo_on_any_takes_all_back_and_redo_brings_all_again(session: Session) -> None:
    nudge(session)
    nudge(session, 6)
    session.go(4)
    assert group.undo(session) == (True, "undone on 4 shots together")
    session.go(2)
    assert group.undo(session) == (True, "undone on 4 shots together")
    assert [slot.decision for slot in session.slots] == [UNDECIDED] * 5
    assert group.undo(session) == (False, "")
    session.go(0)
    assert group.redo(session) == (True, "redone on 4 shots together")
    assert offsets(session) == [0.005, 0.005, 0.005, 0, 0.005]
    assert session.slots[4].decision.correction.light.exposure == 0
    assert group.redo(session) == (True, "redone on 4 shots together")
    assert session.slots[4].decision.correction.light.exposure == pytest.approx(1 / 12)
    assert group.redo(session) == (False, "")


def test_a_shot_that_was_changed_since_is_left_and_told(session: Session) -> None:
    nudge(session)
    session.go(2)
    alone(session, 8, +1)
    session.go(1)
    said = "undone on 3 shots together; not on market.png, changed since"
    assert group.undo(session) == (True, said)
    assert offsets(session) == [0, 0, 0.005, 0, 0]
    session.go(2)
    assert group.undo(session) == (True, "")  # its own step
    assert group.undo(session) == (True, "undone on 1 shot")
    assert offsets(session) == [0] * 5
    session.go(0)
    alone(session, 0, -1)
    session.go(4)
    said = "redone on 3 shots together; not on ferry.png, changed since"
    assert group.redo(session) == (True, said)
    assert offsets(session) == [-0.005, 0.005, 0.005, 0, 0.005]


def test_an_equal_decision_that_came_about_otherwise_is_not_taken_back(session: Session) -> None:
    nudge(session)
    session.go(2)
    session.undo()
    alone(session, 0, +1)
    session.go(0)
    assert group.undo(session)[1].endswith("not on market.png, changed since")
    assert offsets(session) == [0, 0, 0.005, 0, 0]


def test_what_greyscale_cannot_take_is_told_and_the_rest_done(session: Session) -> None:
    session.marked |= {3}
    grey = "pier.png (a greyscale picture takes no red: it has one channel)"
    assert nudge(session) == f"moved 4 of 5 shots; unchanged: {grey}"
    assert offsets(session) == [0.005, 0.005, 0.005, 0, 0.005]
    assert nudge(session, 6) == ""
    session.go(3)
    assert nudge(session, 4).startswith("moved 3 of 4 shots; unchanged: pier.png (a greyscale picture")


def test_shots_at_the_limit_are_told(session: Session) -> None:
    for index in (1, 2):
        session.correct(Correction(saturation=4.0), index=index)
    assert nudge(session, 8) == "moved 2 of 4 shots; unchanged: lighthouse.png and 1 more (at the limit)"


def test_a_sidecar_that_cannot_be_read_keeps_its_shot_out(session: Session) -> None:
    path = session.slots[2].shot.sidecar_path
    path.write_text("{")
    assert nudge(session) == "moved 3 of 4 shots; unchanged: market.png (its sidecar has a fault)"
    assert session.save_all() == []
    assert path.read_text() == "{"
    assert load(session.slots[4].shot.sidecar_path).correction.balance.offset[0] == 0.005


def test_home_and_reset_put_back_on_all_and_say_who_was_there(session: Session) -> None:
    nudge(session, 8)
    alone(session, 8, +1)
    session.correct(NEUTRAL, index=4)
    told = group.summary(session, group.home(session, 8), "reset", "already neutral")
    assert told == "reset 3 of 4 shots; unchanged: quay.png (already neutral)"
    assert {slot.decision.correction for slot in session.slots} == {NEUTRAL}
    group.undo(session)
    nudge(session, 6)
    assert group.reset(session).moved == 4
    assert {slot.decision.correction for slot in session.slots} == {NEUTRAL}
    assert group.undo(session) == (True, "undone on 4 shots together")
    assert session.slots[1].decision.correction == Correction(light=Light(0.083333333333), saturation=1.02)


def test_paste_goes_to_all_but_those_that_are_full(session: Session) -> None:
    with pytest.raises(PoiseError, match="nothing was copied"):
        group.paste(session)
    session.correct(Correction(mattes=tuple(Matte(f"buoy {n}") for n in range(8))), index=4)
    session.copied = Matte("sail")
    told = group.summary(session, group.paste(session), "pasted onto", "already the same")
    assert told == "pasted onto 3 of 4 shots; unchanged: quay.png (a shot has at most 8 mattes: delete one first)"
    assert [len(slot.decision.correction.mattes) for slot in session.slots] == [1, 1, 1, 0, 8]
    session.copied = Correction(saturation=1.2)
    assert group.paste(session).moved == 4
    assert session.slots[4].decision == Decision(Correction(saturation=1.2))


def test_an_encoding_is_the_same_for_all(session: Session) -> None:
    group.encode(session, {"source": "linear"}, [2])
    assert group.summary(session, group.encode(session, {"source": "ACEScct"}), "set", "as it was") == ""
    assert [slot.encoding.source for slot in session.slots] == ["ACEScct"] * 3 + ["sRGB", "ACEScct"]
    assert group.encode(session, {"source": "sRGB", "range": "full"}).moved == 4
    assert {slot.encoding for slot in session.slots} == {Encoding()}
    group.undo(session)
    assert session.slots[1].encoding.source == "ACEScct"
    told = group.summary(session, group.encode(session, {"source": "camera_z.clf"}), "set", "as it was")
    assert told.startswith("set 0 of 4 shots; unchanged: ")
    assert "camera_z.clf is not in the shot's folder" in told


def test_an_empty_column_moves_nobody(session: Session) -> None:
    session.next_bank()
    with pytest.raises(PoiseError, match="no control in this column"):
        nudge(session, 9)
    assert not any(slot.history.depth for slot in session.slots)


def test_the_group_is_at_work_at_the_balance_table_alone(session: Session) -> None:
    assert group.on(session)
    for mode in ("pick", "matte", "curve"):
        session.hold(mode=mode)
        assert not group.on(session)
    session.hold(mode="balance")
    session.together = False
    assert not group.on(session)
