"""Starting points and matches for one shot and for a group: which shots they go to, and what is said."""

import re
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from skimage import data
from until import LIMIT

from poise.correction import NEUTRAL, Balance, Correction
from poise.errors import PoiseError
from poise.frames import Frame, read, scan
from poise_tui.edits import group
from poise_tui.session.session import Session
from poise_tui.workers import solver
from poise_tui.workers.loader import Loader
from poise_tui.workers.solver import Solver

LIGHTS = (1.0, 0.9, 0.8, 0.7)


class Desk:
    """A session and its solver; what threads hand over is done by `until`."""

    def __init__(self, folder: Path) -> None:
        self.session = Session(scan([folder]).shots)
        self.said: list[str] = []
        self._calls: list[Callable[[], None]] = []
        self._ready = threading.Condition()
        self.solver = Solver(self.session, Loader(lambda _: None), self._later, lambda text, _: self.said.append(text))

    def _later(self, call: Callable[..., None], *arguments: object) -> None:
        with self._ready:
            self._calls.append(lambda: call(*arguments))
            self._ready.notify()

    def until(self, word: str) -> str:
        """Does what was handed over until something is said that holds a word."""
        while True:
            found = [text for text in self.said if word in text]
            if found:
                return found[0]
            with self._ready:
                assert self._ready.wait_for(lambda: self._calls, LIMIT), f"{word!r} was never said: {self.said}"
                call = self._calls.pop(0)
            call()

    def balance(self, index: int) -> Balance:
        return self.session.slots[index].decision.correction.balance


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """A cup of coffee (skimage.data) under four strengths of light in its code value."""
    cup = data.coffee()[::4, ::4]
    for place, light in enumerate(LIGHTS):
        Image.fromarray(np.rint(cup * light).astype(np.uint8)).save(tmp_path / f"cup_{place}.png")
    return Desk(tmp_path)


def test_a_match_of_the_group_goes_to_all_but_the_reference_and_what_is_held(desk: Desk) -> None:
    session = desk.session
    session.reference = session.slots[0]
    session.marked, session.together = {0, 1, 2, 3}, True
    session.state("held", index=3)
    session.go(1)
    desk.solver.match()
    assert desk.until("shots measured") == "match: 2 shots measured, 1 unchanged"
    assert "match: 2 of 2, cup_2.png" in desk.said
    for index in (1, 2):
        assert desk.balance(index).slope == pytest.approx((1 / LIGHTS[index],) * 3, abs=1e-2)
    assert desk.balance(0) == desk.balance(3) == Balance()


def test_auto_of_the_group_leaves_what_was_made_by_hand_and_what_is_held_or_skipped(desk: Desk) -> None:
    session = desk.session
    made = replace(NEUTRAL, saturation=1.2)
    session.correct(made, index=2)
    session.correct(made, index=1)
    session.marked, session.together = {0, 1, 2, 3}, True
    session.state("skipped", index=3)
    session.go(1)
    desk.solver.auto()
    assert desk.until("shots measured") == "auto: 2 shots measured, 2 unchanged; see :unsure"
    assert any(text.startswith("auto: light of 2 shots: ") for text in desk.said)
    first, second = (session.slots[index].decision.correction.light for index in (0, 1))
    assert (first.warmth, first.magenta) == (second.warmth, second.magenta)
    assert session.slots[2].decision.correction == made
    assert session.slots[3].decision.correction == NEUTRAL
    for index in (0, 1):
        decision = session.slots[index].decision
        assert (decision.by_hand, decision.correction not in (made, NEUTRAL)) == (False, True)
        assert session.slots[index].history.depth > 0


def test_one_shot_is_told_in_full_and_a_change_meanwhile_wins(desk: Desk) -> None:
    desk.solver.auto()
    desk.until("(:messages says why)")
    assert not any(re.search(r"\d of \d", text) for text in desk.said)
    desk.said.clear()
    desk.solver.auto()
    desk.session.correct(Correction(saturation=0.7))
    desk.until("was changed meanwhile")
    assert desk.session.slot.decision.correction == Correction(saturation=0.7)


def test_a_broken_frame_of_the_group_costs_itself_only(desk: Desk, tmp_path: Path) -> None:
    session = desk.session
    (tmp_path / "cup_2.png").write_bytes(b"fog")
    session.reference = session.slots[0]
    session.marked, session.together = {2, 3}, True
    session.go(1)
    desk.solver.match()
    desk.until("match: 3 shots measured")
    assert any("cup_2.png" in text and "match" not in text for text in desk.said)
    assert desk.balance(3).slope == pytest.approx((1 / 0.7,) * 3, abs=1e-2)


def test_what_is_asked_for_next_ends_a_group(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = threading.Event()

    def second(file: Path) -> Frame:
        assert asked.wait(LIMIT)
        return read(file)

    monkeypatch.setattr(solver, "read", second)
    session = desk.session
    session.marked, session.together = {0, 1, 2, 3}, True
    desk.solver.auto()
    desk.until("auto: light of 1 of 4")
    session.together = False
    desk.solver.auto()
    asked.set()
    ended = desk.until("by another request")
    assert ended.startswith("auto: stopped after")
    desk.until("(:messages says why)")


def test_codes_that_cant_be_compared_are_refused(desk: Desk) -> None:
    session = desk.session
    with pytest.raises(PoiseError, match="no reference yet"):
        desk.solver.match()
    session.reference = session.slots[1]
    group.encode(session, {"delivery": "ITU-R BT.2100 PQ"}, [1])
    with pytest.raises(PoiseError, match="give both the same"):
        desk.solver.match()
