"""Many shots by keys, two hundred in a thorough run: the list is right about shots that are not on screen, too."""

import asyncio
import math
from collections.abc import Awaitable, Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from sitting import text, until
from textual.pilot import Pilot
from thorough import many
from until import until_in

from poise.commands.checking.frames import examined
from poise.commands.shared.output import Report
from poise.commands.shared.shots import found as listed_by_commands
from poise.correction import NEUTRAL, Levels
from poise.delivery.limits import load
from poise.frames import scan
from poise_tui.app import Poise
from poise_tui.draw.arrange import INSTRUMENTS
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import CellView
from poise_tui.workers import coordinator, delivery, solver
from poise_tui.workers.solver import Solved

COUNT = many(40, 200)
SIZE = (90, 24)
"""The list has figures, and there is little else to draw."""


def codes(number: int) -> np.ndarray[Any, Any]:
    """A ramp of grey whose blue is up to 40 codes lower; shot by shot another black and another tint."""
    grey = np.linspace(number % 50 + 2, 240, 12 * 16).round().reshape(12, 16)
    return np.stack([grey, grey, grey * (1 - number % 7 / 40)], axis=2).astype(np.uint8)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("harbour")
    for number in range(COUNT):
        Image.fromarray(codes(number)).save(made / f"quay_{number:03}.png", compress_level=1)
    return made


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keys rest at once."""
    for name in ("REST", "EXACT"):
        monkeypatch.setattr(coordinator, name, 0.02)
    monkeypatch.setattr(delivery, "EVERY", 0.3)


def sit(folder: Path, session: Callable[[Pilot[int], Session], Awaitable[None]]) -> None:
    async def sitting() -> None:
        app = Poise(Session(scan([folder], sidecars=folder / "decisions").shots), keymap(), LOOK)
        async with app.run_test(size=SIZE) as pilot:
            await session(pilot, app.screen_stack[0].session)  # type: ignore[attr-defined]
        assert app.fault is None

    asyncio.run(sitting())


LOOK = Look(Capability(*SIZE, "truecolor", True))


def listed(pilot: Pilot[int]) -> list[str]:
    """The rows of the list."""
    return [line for line in text(pilot) if "quay_" in line and " x " not in line]


def luma(picture: np.ndarray[Any, Any], share: float) -> float:
    """A percentile of luma by ITU-R BT.709-6, in per cent, as numpy finds it."""
    return float(np.percentile(picture / 255 @ np.array([0.2126, 0.7152, 0.0722]), share) * 100)


def figures_of(pilot: Pilot[int], name: str) -> list[int]:
    """Black and white in the row of a shot."""
    return [int(figure) for row in listed(pilot) if name in row for figure in row.split()[-2:]]


def ends_of(session: Session) -> tuple[float, float]:
    """Black and white of the current shot, as it is listed."""
    found = session.listing.figures(session.index)
    assert found is not None
    return found.black, found.white


async def measured(pilot: Pilot[int], session: Session) -> None:
    def all_are() -> bool:
        listing = session.listing
        return all(listing.figures(i) and not listing.waits(i) for i in range(COUNT))

    await until_in(pilot, all_are)


@pytest.mark.usefixtures("in_this_process")
@pytest.mark.thorough
def test_figures_are_those_of_each_decision_and_before_is_said_everywhere(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Faults are those of `poise check`; after a nudge and auto on a group of all, black and white are numpy's
    percentiles, whatever before and after show."""

    def half(*_: object) -> Solved:
        """A starting point that takes no time: the darker half of each picture goes to black."""
        return Solved(replace(NEUTRAL, levels=Levels(0.4, 1.0)), False, ("auto: done",))

    monkeypatch.setattr(solver, "_starting_point", half)
    shots = listed_by_commands([folder], Report())
    places = {str(one.path): place for place, one in enumerate(shots)}
    faulty = {places[one.file] for one in examined(shots, load(), None, 1, 60) if not one.of_format}
    assert 0 < len(faulty) < COUNT

    async def session(pilot: Pilot[int], session: Session) -> None:
        figures = session.listing.figures
        await measured(pilot, session)
        await until_in(pilot, lambda: {i for i in range(COUNT) if session.slots[i].beyond} == faulty)
        await pilot.press(*"IIIIII")
        await until(pilot, f"faults: {len(faulty)} of {COUNT} shots listed")
        await pilot.press("escape")
        await pilot.press("*", "G", "3", "v")
        await until_in(pilot, lambda: all(session.slots[i].decision.correction != NEUTRAL for i in range(COUNT)))
        assert all(session.listing.waits(index) for index in range(1, COUNT))
        await until(pilot, "~")
        await measured(pilot, session)
        await until_in(pilot, lambda: not any("~" in row for row in listed(pilot)))
        for number in (0, 7, COUNT // 2, COUNT - 1):
            found = figures(number)
            assert found is not None
            wanted = codes(number) * session.slots[number].decision.correction.balance.slope[0]
            assert found.white == pytest.approx(luma(wanted, 99.5), abs=1.0)
        await pilot.press("R", "A")
        await until(pilot, f"auto: {COUNT} shots measured")
        await pilot.press("O")
        await measured(pilot, session)
        after = [np.clip((codes(number) / 255 - 0.4) / 0.6, 0, 1) * 255 for number in range(COUNT)]
        for number in (0, 7, COUNT // 2, COUNT - 1):
            found = figures(number)
            assert found is not None
            assert found.white == pytest.approx(luma(after[number], 99.5), abs=1.0)
            assert found.black == pytest.approx(luma(after[number], 0.5), abs=1.0)
        ends = [np.percentile(one, (0.5, 50, 99.5), axis=(0, 1)) for one in after]
        spreads = [float(np.ptp(one, axis=1).max()) for one in ends]
        order = [spreads[index] for index in session.listing.all]
        assert all(one >= two - 2 for one, two in pairwise(order))  # a code or two of rounding
        current = session.slot.shot.name
        await until_in(pilot, lambda: figures_of(pilot, current) == [round(n) for n in ends_of(session)])
        row = figures_of(pilot, current)
        await pilot.press("space")
        await until(pilot, "BEFORE")
        await until_in(pilot, lambda: pilot.app.screen_stack[0]._coordinator.viewer.exact)  # type: ignore[attr-defined]
        assert figures_of(pilot, current) == row
        await pilot.resize_terminal(120, 40)
        await until(pilot, "BEFORE vectorscope")
        panes = {pane.id: pane for pane in pilot.app.screen.query(CellView) if pane.place.area and pane._shown}
        for name in (*INSTRUMENTS, "readings"):
            assert panes[name]._shown.lines()[0].startswith("BEFORE "), name
        assert panes["strip"]._shown.lines()[2].split() == ["BEFORE"] * 10
        assert not any(line.startswith("!") for line in panes["readings"]._shown.lines())  # faults are of the decision
        await pilot.press("E")
        await until(pilot, "balance it")
        await pilot.press("space")
        await until(pilot, "BEFORE reel ")
        await pilot.press("v")  # what a nudge does is seen at once
        await until_in(pilot, lambda: not any("BEFORE" in line for line in text(pilot)))

    assert not math.isnan(luma(codes(0), 50))
    sit(folder, session)
