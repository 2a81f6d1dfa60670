"""Undo by runs: presses of one column within a second are one step; the clock is the test's own."""

import asyncio
from pathlib import Path

import pytest
from PIL import Image
from sitting import drawn

from poise.correction import NEUTRAL, Correction, Light
from poise.frames import scan
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.edits import group
from poise_tui.keys.keymap import keymap
from poise_tui.session.run import TOGETHER
from poise_tui.session.session import Session


class Clock:
    """Seconds that pass when they are told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def session(tmp_path: Path, clock: Clock) -> Session:
    for name in ("ferry.png", "market.png", "quay.png"):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return Session(scan([tmp_path]).shots, clock)


def press(session: Session, place: int, direction: int = +1) -> None:
    with session.pressing(place):
        if group.on(session):
            group.nudge(session, place, direction)
        else:
            group.nudge(session, place, direction)


def exposure(session: Session, index: int = 0) -> float:
    return round(session.slots[index].decision.correction.light.exposure * 12)


def test_presses_of_one_column_within_a_second_are_one_step(session: Session, clock: Clock) -> None:
    for _ in range(5):
        press(session, 6)
        clock.now += TOGETHER - 0.01
    assert (exposure(session), session.slot.history.depth) == (5, 1)
    session.undo()
    assert session.slot.decision.correction == NEUTRAL
    session.redo()
    assert exposure(session) == 5


def test_a_pause_or_another_column_or_anything_else_starts_another_step(session: Session, clock: Clock) -> None:
    press(session, 6)
    clock.now += TOGETHER
    press(session, 6)
    assert session.slot.history.depth == 2
    press(session, 8)
    press(session, 6)
    assert session.slot.history.depth == 4
    session.end_run()
    press(session, 6)
    assert session.slot.history.depth == 5
    session.state("held")  # by anything but a press
    press(session, 6)
    assert session.slot.history.depth == 7
    for _ in range(7):
        session.undo()
    assert session.slot.decision.correction == NEUTRAL


def test_a_run_that_comes_back_to_its_beginning_is_no_step(session: Session) -> None:
    press(session, 6, +1)
    press(session, 6, -1)
    assert session.slot.history.depth == 0
    press(session, 6, -1)
    assert (exposure(session), session.slot.history.depth) == (-1, 1)


def test_nudges_that_no_key_made_stay_apart(session: Session) -> None:
    group.nudge(session, 6, +1)
    group.nudge(session, 6, +1)
    assert session.slot.history.depth == 2


def test_a_run_of_the_group_is_undone_on_all_at_once(session: Session, clock: Clock) -> None:
    session.marked, session.together = {1, 2}, True
    for _ in range(3):
        press(session, 6)
    assert [exposure(session, index) for index in range(3)] == [3, 3, 3]
    assert len(session.steps) == 1
    assert group.undo(session) == (True, "undone on 3 shots together")
    assert [exposure(session, index) for index in range(3)] == [0, 0, 0]
    assert group.redo(session) == (True, "redone on 3 shots together")
    assert [exposure(session, index) for index in range(3)] == [3, 3, 3]
    clock.now += 5
    session.step(+9)
    for _ in range(13):
        press(session, 6)  # eight stops in thirteen presses: all reach the limit together
    session.go(2)
    assert group.undo(session) == (True, "undone on 3 shots together")
    assert [exposure(session, index) for index in range(3)] == [3, 3, 3]


def test_shots_that_join_a_run_later_are_undone_with_it(session: Session) -> None:
    """The second shot stands at its limit, so the first press leaves it, and those back move it."""
    session.correct(Correction(light=Light(exposure=8.0)), index=1)
    session.marked, session.together = {1}, True
    depths = [slot.history.depth for slot in session.slots]
    before = [exposure(session, index) for index in range(2)]
    press(session, 6, +1)
    press(session, 6, -1)
    press(session, 6, -1)
    assert [exposure(session, index) for index in range(2)] == [before[0] - 1, before[1] - 2]
    assert [slot.history.depth for slot in session.slots[:2]] == [depth + 1 for depth in depths[:2]]
    assert group.undo(session)[1] == "undone on 2 shots together"
    assert [exposure(session, index) for index in range(2)] == before


def test_undo_by_keys_takes_back_a_run(session: Session, clock: Clock) -> None:
    """Real keys: four presses as fast as they come; the neutral key and a pause each begin another step."""

    async def sit() -> None:
        app = Poise(session, keymap(), Look(Capability(120, 40, "truecolor", True)))
        async with app.run_test(size=(120, 40)) as pilot:
            await drawn(pilot)
            await pilot.press("u", "u", "m", "u")
            assert (exposure(session), session.slot.history.depth) == (2, 1)
            clock.now += 2
            await pilot.press("u", "u")
            assert (exposure(session), session.slot.history.depth) == (4, 2)
            await pilot.press("j")
            assert (exposure(session), session.slot.history.depth) == (0, 3)
            for wanted in (4, 2, 0):
                await pilot.press("Z")
                assert exposure(session) == wanted
            await pilot.press("u", "=", "u", "-", "u")  # another key starts another
            assert (exposure(session), session.slot.history.depth) == (4, 3)
            await pilot.press("Q")

    asyncio.run(sit())
