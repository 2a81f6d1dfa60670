"""Shaping curves with a cursor: where it stops, what it bends, and what a curve can't do."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy.interpolate import PchipInterpolator

from poise.correction import NEUTRAL, Correction, Curves, checked
from poise.correction.model import STRAIGHT
from poise.errors import PoiseError
from poise.frames import scan
from poise_tui.edits import group, shaping
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture

BENT = ((0.0, 0.0), (0.2, 0.1), (0.503, 0.6), (0.8, 0.85), (1.0, 1.0))
GREY, COLOUR = Picture(8, 4, linear=False, grey=True), Picture(8, 4, linear=False, grey=False)


@pytest.fixture
def session(tmp_path: Path) -> Session:
    for name in ("ferry.png", "quay.png"):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    session = Session(scan([tmp_path]).shots)
    session.work("curve")
    return session


def points(session: Session, channel: str = "master") -> tuple[tuple[float, float], ...]:
    found: tuple[tuple[float, float], ...] = getattr(session.slot.decision.correction.curves, channel)
    return found


def bent(session: Session) -> None:
    session.correct(Correction(curves=Curves(master=BENT)))


def through(known: tuple[tuple[float, float], ...], at: float) -> float:
    """The curve of Fritsch and Carlson (1980), as scipy has it."""
    x, y = np.array(known).T
    return float(PchipInterpolator(x, y)(at))


def test_the_cursor_moves_by_the_step_and_stops_at_points_on_its_way(session: Session) -> None:
    bent(session)
    session.hold(at=0.48)
    seen = []
    for _ in range(4):
        shaping.slide(session, +1)
        seen.append(session.hand.at)
    assert seen == [0.49, 0.5, 0.503, 0.513]
    session.step(+9)
    seen = []
    for _ in range(6):
        shaping.slide(session, -1)  # 0.08 at a time
        seen.append(session.hand.at)
    assert seen == pytest.approx([0.503, 0.423, 0.343, 0.263, 0.2, 0.12])
    session.step(-9)
    shaping.slide(session, +1)
    assert session.hand.at == pytest.approx(0.1225)


def test_the_cursor_ends_where_the_instruments_do_or_the_curve(session: Session) -> None:
    for by, end in ((+1, 1.05), (-1, -0.05)):  # the ends of EBU R 103
        for _ in range(200):
            shaping.slide(session, by)
        assert session.hand.at == end
    session.correct(Correction(curves=Curves(master=((-0.5, -0.5), (0.5, 0.5), (2.0, 1.8)))))
    session.step(+9)
    for by, end in ((+1, 2.0), (-1, -0.5)):
        for _ in range(60):
            shaping.slide(session, by)
        assert session.hand.at == end


def test_jumps_go_from_point_to_point(session: Session) -> None:
    bent(session)
    session.hold(at=0.3)
    for by, wanted in ((+1, 0.503), (+1, 0.8), (-1, 0.503), (-1, 0.2), (-1, 0.0)):
        shaping.jump(session, by)
        assert session.hand.at == wanted
    with pytest.raises(PoiseError, match="no point in that direction"):
        shaping.jump(session, -1)
    assert session.hand.at == 0.0


@pytest.mark.parametrize("at", [0.07, 0.3, 0.55, 0.999])
def test_a_new_point_lies_on_the_curve(session: Session, at: float) -> None:
    bent(session)
    session.hold(at=at)
    assert shaping.add(session) == "master has 6 points"
    (made,) = set(points(session)) - set(BENT)
    assert made == (at, pytest.approx(through(BENT, at), abs=1e-9))


@pytest.mark.parametrize("by", [+1, -1])
def test_bending_makes_the_point_on_the_curve_and_moves_it_by_the_step(session: Session, by: int) -> None:
    bent(session)
    session.hold(at=0.3)
    assert shaping.bend(session, by)
    (made,) = set(points(session)) - set(BENT)
    assert made == (0.3, pytest.approx(through(BENT, 0.3) + by * 0.005, abs=1e-9))
    session.step(+1)
    shaping.bend(session, by)  # the same point again, twice as far
    (made,) = set(points(session)) - set(BENT)
    assert made == (0.3, pytest.approx(through(BENT, 0.3) + by * 0.015, abs=1e-9))
    assert session.slot.history.depth == 3
    session.undo()
    session.undo()
    assert points(session) == BENT


def test_an_output_stops_at_its_neighbour_and_then_says_why(session: Session) -> None:
    bent(session)
    session.hold(at=0.503, size=5)  # 0.04 a press
    for _ in range(7):
        shaping.bend(session, +1)
    assert points(session)[2] == (0.503, 0.85)
    with pytest.raises(PoiseError, match=r"can't fall: the next point stands at 0\.85"):
        shaping.bend(session, +1)
    for _ in range(19):
        shaping.bend(session, -1)
    with pytest.raises(PoiseError, match=r"can't fall: the previous point stands at 0\.1"):
        shaping.bend(session, -1)
    assert points(session)[2] == (0.503, 0.1)


def test_an_input_stops_at_its_neighbour_and_then_says_why(session: Session) -> None:
    bent(session)
    session.hold(at=0.503, size=5)
    for _ in range(8):  # the column of the input, which the cursor follows
        group.nudge(session, 0, +1)
        assert session.hand.at == points(session)[2][0]
    assert session.hand.at == pytest.approx(0.8 - 1e-4)
    with pytest.raises(PoiseError, match=r"can't fold back: the next point stands at 0\.8"):
        group.nudge(session, 0, +1)
    checked(session.slot.decision.correction)
    assert points(session)[2][1] == 0.6


def test_where_there_is_no_room_for_a_point_nothing_changes(session: Session) -> None:
    bent(session)
    session.hold(at=0.50305)
    for change in (lambda: shaping.bend(session, 1), lambda: shaping.add(session)):
        with pytest.raises(PoiseError, match=r"a point stands at 0\.503 already"):
            change()
    assert points(session) == BENT


def test_points_are_taken_out_down_to_two(session: Session) -> None:
    bent(session)
    session.hold(at=0.5)
    with pytest.raises(PoiseError, match="no point at the cursor"):
        shaping.remove(session)
    for at, count in ((0.503, 4), (0.0, 3), (0.8, 2)):
        session.hold(at=at)
        assert shaping.remove(session) == f"master has {count} points"
    assert points(session) == ((0.2, 0.1), (1.0, 1.0))
    session.hold(at=0.2)
    with pytest.raises(PoiseError, match="a curve needs two points"):
        shaping.remove(session)


def test_reset_is_of_the_channel_in_hand(session: Session) -> None:
    session.correct(Correction(saturation=1.2, curves=Curves(red=BENT, master=BENT)))
    shaping.choose(session, "red")
    assert "undo" in shaping.reset(session)
    assert session.slot.decision.correction == Correction(saturation=1.2, curves=Curves(master=BENT))
    assert shaping.reset(session) == "already straight"
    session.undo()
    assert points(session, "red") == BENT


def test_an_exact_point_is_put_or_moved(session: Session) -> None:
    bent(session)
    assert shaping.put(session, 0.35, 0.4) == "master goes through 0.35, 0.4"
    assert (0.35, 0.4) in points(session)
    assert session.hand.at == 0.35
    assert shaping.put(session, 0.35, 0.3333333333333333) == "master goes through 0.35, 0.333333"
    assert (0.35, 0.333333333333) in points(session)
    assert shaping.put(session, 0.35, 0.9) == "master goes through 0.35, 0.6, the limit"
    assert shaping.put(session, 0.35, 0.6) == "master goes through 0.35, 0.6"
    assert len(points(session)) == 6
    checked(session.slot.decision.correction)


@pytest.mark.parametrize(
    ("x", "y", "told"),
    [
        (5.0, 0.5, "between -1 and 4"),
        (float("nan"), 0.5, "between -1 and 4"),
        (float("inf"), 0.5, "between -1 and 4"),
        (0.5, float("nan"), "finite step"),
        (0.503, float("inf"), "finite step"),
        (0.50305, 0.6, "a point stands at 0.503 already"),
    ],
)
def test_a_point_that_cannot_be_is_refused(session: Session, x: float, y: float, told: str) -> None:
    bent(session)
    before = session.hand
    with pytest.raises(PoiseError, match=told):
        shaping.put(session, x, y)
    assert (points(session), session.hand) == (BENT, before)


def test_points_are_put_at_the_curve_table_alone(session: Session) -> None:
    session.work("curve")
    with pytest.raises(PoiseError, match="go to curve mode first"):
        shaping.put(session, 0.5, 0.6)
    assert session.slot.decision.correction == NEUTRAL


def test_a_grey_picture_has_the_master_alone(session: Session) -> None:
    session.set_picture(0, GREY)
    for channel in ("red", "green", "blue"):
        with pytest.raises(PoiseError, match="greyscale"):
            shaping.choose(session, channel)  # type: ignore[arg-type]
    shaping.choose(session, "master")
    shaping.bend(session, +1)
    assert points(session)[1] == (0.5, 0.505)


def test_the_curve_of_a_channel_is_not_carried_onto_a_grey_picture(session: Session) -> None:
    session.set_picture(1, GREY)
    shaping.choose(session, "red")
    session.go(1)
    shaping.bend(session, +1)
    assert session.slot.decision.correction.curves == Curves(master=((0.0, 0.0), (0.5, 0.505), (1.0, 1.0)))
    session.set_picture(0, COLOUR)
    session.go(0)
    shaping.choose(session, "blue")
    session.set_picture(1, GREY)  # of a neighbour that was loaded ahead
    assert session.hand.channel == "blue"
    session.set_picture(0, GREY)
    assert session.hand.channel == "master"


def test_each_channel_has_its_own_curve(session: Session) -> None:
    for channel in ("red", "green", "blue", "master"):
        shaping.choose(session, channel)  # type: ignore[arg-type]
        shaping.bend(session, +1)
        assert points(session, channel) == ((0.0, 0.0), (0.5, 0.505), (1.0, 1.0))
    shaping.choose(session, "green")
    shaping.reset(session)
    curves = session.slot.decision.correction.curves
    assert [getattr(curves, channel) == STRAIGHT for channel in ("red", "green", "blue", "master")] == [
        *(False, True, False, False)
    ]
