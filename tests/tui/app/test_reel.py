"""The reel view by keys: along it, to the outliers and back, and balanced while it is compared."""

import asyncio
import os
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sitting import SIZES, drawn, sit, text, turns, until
from until import until_in

from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session

PLOT = re.compile(r"[ \d]{4}[RGBrgb|= -]+\d*")
"""A line of the reel in plain characters."""
SETTLED = "  "
"""Behind the title of a reel in which nothing is left to be measured."""
LOOK = Look(Capability(120, 40, "truecolor", True))


def shots(folder: Path, count: int) -> list[Path]:
    """Ramps from 10 to 90 % that hardly differ; the fifth has lost a third of its blue, the seventh is empty."""
    rng = np.random.default_rng(2)
    ramp = np.linspace(0.1, 0.9, 64)[None, :, None] + np.zeros((8, 1, 3))
    files = [folder / f"quay_{number:02}a.png" for number in range(1, count + 1)]
    for number, file in enumerate(files, 1):
        levels = ramp + rng.normal(0, 0.004, 3)
        levels[..., 2] *= 0.67 if number == 5 else 1
        Image.fromarray(np.uint8(levels * 255 + 0.5)).save(file)
        if number == 7:
            file.write_bytes(b"")
    return files


def over(shown: list[str], mark: str) -> int:
    """How many marks stand over the columns."""
    place = next(i for i, line in enumerate(shown) if line.startswith("reel "))
    return shown[place + 1].count(mark)


@pytest.mark.parametrize("size", SIZES)
def test_every_shot_is_measured_by_itself_and_those_apart_are_marked_with_their_reason(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    shots(tmp_path, 12)
    shown = sit(tmp_path, ["E"], size, f"reel 1-12 of 12, 1 outlier{SETTLED}")
    assert (over(shown, "!"), over(shown, "x"), over(shown, ".")) == (1, 1, 0)
    assert any(line.startswith("left right shots  { } outliers  enter balance it  escape back") for line in shown)
    shown = sit(tmp_path, ["E", *["down"] * 4], size, f"1 outlier{SETTLED}")
    (reason,) = [line for line in shown if line.startswith("outlier: ")]
    assert reason.startswith("outlier: white of blue 60 %, the reel's is 90 ± 1; and ")
    shown = sit(tmp_path, ["E", *["right"] * 6], size, "the file is empty")


def test_keys_go_along_the_reel_and_back_to_balancing_with_the_shot(tmp_path: Path) -> None:
    shots(tmp_path, 12)

    async def session() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), LOOK)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("E")
            await until(pilot, f"1 outlier{SETTLED}")
            await pilot.press("right", "right", "left", "left", "left")
            await until(pilot, "that is the first shot")
            await pilot.press("}")
            assert app.session.index == 4
            await pilot.press("}")
            await until(pilot, "no outlier after this shot")
            await pilot.press("end", "{")
            assert app.session.index == 4
            await pilot.press("<")
            await until(pilot, "already one shot per column")
            await pilot.press(">", ">")
            await until(pilot, "5 shots per column")
            await pilot.press(">")
            await until(pilot, "10 shots per column")
            await pilot.press(">")
            await until(pilot, "a column can't show more shots")
            await pilot.press("<", "left")
            assert app.session.index == 0
            await pilot.press("}", "enter")
            assert (app.session.index, app.session.hand.mode) == (4, "balance")
            await pilot.press("E", "E", "E", "escape")
            assert (app.session.index, app.session.hand.mode) == (4, "balance")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())


@pytest.mark.parametrize("size", SIZES)
def test_a_nudge_at_the_reel_is_saved_and_moves_its_column_until_the_shot_stands_with_the_others(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    shots(tmp_path, 12)

    async def session() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), Look(Capability(*size, "standard", False)))
        async with app.run_test(size=size) as pilot:
            await pilot.press("E", *["down"] * 4)
            await until(pilot, "outlier: white of blue 60 %")
            await until(pilot, f"1 outlier{SETTLED}")
            survey = pilot.app.screen.survey  # type: ignore[attr-defined]
            before = survey.figures(before=False)[4, 11]
            await pilot.press("3", *["e"] * 10)
            await until(pilot, "undo 10")
            # highlights up by 1 % a nudge, ten times
            assert survey.figures(before=False)[4, 11] == pytest.approx(before * 1.01**10, abs=0.3)
            assert survey.figures(before=True)[4, 11] == before
            assert [line for line in text(pilot) if PLOT.fullmatch(line) and "b" in line]  # as it was before
            await pilot.press(*["e"] * 30)
            await until(pilot, f"reel 1-12 of 12{SETTLED}")
            assert not survey.reel(before=False).outliers.any()
            await pilot.press("space")
            await until(pilot, "BEFORE")
            await until(pilot, "1 outlier")
            await pilot.press("right")  # what is compared stays
            await until(pilot, "BEFORE")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())
    side = load(tmp_path / "quay_05a.png.poise.json")
    slope = side.correction.balance.slope
    assert slope[:2] == (1, 1)
    assert slope[2] == pytest.approx(1.01**40, abs=1e-6)
    assert [path.name for path in tmp_path.glob("*.json")] == ["quay_05a.png.poise.json"]


def test_marked_shots_move_together_at_the_reel(tmp_path: Path) -> None:
    shots(tmp_path, 6)

    async def session() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), LOOK)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("E", "X", "right", "right", "G", "r", "r")
            survey = pilot.app.screen.survey  # type: ignore[attr-defined]
            await until(pilot, "undo 2")

            def moves() -> np.ndarray:
                return survey.figures(before=False)[:, 1] - survey.figures(before=True)[:, 1]

            await until_in(pilot, lambda: np.isfinite(moves()).all() and moves()[0] > 0.5)
            moved = moves()
            assert moved[[0, 2]] == pytest.approx([1, 1], abs=0.2)
            assert moved[[1, 3, 4, 5]].tolist() == [0, 0, 0, 0]
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())
    one, three = (load(tmp_path / f"quay_0{number}a.png.poise.json") for number in (1, 3))
    assert one.correction == three.correction


def test_two_shots_have_a_reel_but_none_apart(tmp_path: Path) -> None:
    shots(tmp_path, 2)
    turns(
        tmp_path,
        (["E"], "reel 1-2 of 2|RRRR|100|left right shots"),
        (["}"], "no shot is an outlier"),
        ([">"], "a column can't show more shots"),
        (["right", "right"], "that is the last shot"),
    )


def test_a_narrowed_list_narrows_the_reel_but_not_what_it_is_compared_with(tmp_path: Path) -> None:
    shots(tmp_path, 12)
    keys = [*["down"] * 4, "X", "down", "X", "E", *":only marked", "enter", "<"]
    shown = sit(tmp_path, keys, (120, 40), f"1 outlier{SETTLED}")
    assert any(line.startswith("reel 1-2 of 2, 1 outlier") for line in shown)
    assert over(shown, "!") == 1


def test_two_thousand_shots_scroll_and_group(tmp_path: Path) -> None:
    (first, *_) = shots(tmp_path, 1)
    for number in range(2, 2001):
        os.link(first, tmp_path / f"quay_{number:04}b.png")

    async def session() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), LOOK)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("E")
            await until(pilot, "reel 1-21 of 2000")
            await drawn(pilot)
            gone: list[int] = []
            go = app.session.go
            app.session.go = lambda index: gone.append(index) or go(index)  # type: ignore[func-returns-value, method-assign]
            await pilot.press("end")
            await until(pilot, "reel 1980-2000 of 2000")
            assert gone == [1999]  # at once, not along two thousand shots
            await until(pilot, "───+")
            await pilot.press(">", ">", ">", ">", ">", ">")
            await until(pilot, "reel 1-2000 of 2000, 100 shots per column")
            await pilot.press("left")
            assert app.session.index == 1899
            await until(pilot, " of 2000 measured")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())
