"""The group by keys: marked shots move together, what the sidecars hold afterwards, and what a poor terminal shows."""

import asyncio
from pathlib import Path

import pytest
from PIL import Image
from sitting import POOR, turns
from until import until, until_in

from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.keys.keymap import keymap
from poise_tui.screens.desk import DeskScreen
from poise_tui.session.save import Job, Outcome, write
from poise_tui.session.session import Session
from poise_tui.workers import saver

NAMES = ("ferry.png", "lighthouse.png", "market.png", "pier.png", "quay.png")


@pytest.fixture
def reel(tmp_path: Path) -> Path:
    for name in NAMES:
        mode, colour = ("L", 90) if name == "pier.png" else ("RGB", (90, 100, 110))
        Image.new(mode, (64, 36), colour).save(tmp_path / name)  # type: ignore[arg-type]
    return tmp_path


def offsets(folder: Path) -> dict[str, float]:
    """Red's offset by shot, of those that have a sidecar."""
    there = [name for name in NAMES if (folder / f"{name}.poise.json").exists()]
    return {name: load(folder / f"{name}.poise.json").correction.balance.offset[0] for name in there}


def test_marked_shots_and_the_one_in_hand_move_together(reel: Path) -> None:
    turns(
        reel,
        (["q", "X", "down", "X", "down"], "2 marked"),
        (["G"], "group on: nudges, auto, match, paste, reset"),
        (["q", "q"], "GROUP 3"),
        (["end"], "GROUP 3"),
        (["z", "G"], "group off"),
        (["q", "-", "=", "q"], "undo 3"),  # another key between them, and they are two steps
    )
    assert offsets(reel) == {
        "ferry.png": pytest.approx(0.01), "lighthouse.png": pytest.approx(0.005), "market.png": pytest.approx(0.01),
        "quay.png": pytest.approx(0.005),
    }  # fmt: skip


def test_one_undo_takes_a_nudge_back_on_all_from_any_of_them(reel: Path) -> None:
    turns(
        reel,
        (["*", "G", "u", "-", "=", "u"], "GROUP 5"),
        (["down", "Z"], "undone on 5 shots together"),
        (["down", "r", "up", "Z"], "undone on 5 shots together"),
        (["Z"], "undone on 5 shots together"),
        (["Z"], "nothing to undo on this shot"),
        (["end", "Y"], "redone on 5 shots together"),
    )
    assert {load(reel / f"{name}.poise.json").correction.light.exposure for name in NAMES} == {0.083333333333}
    assert offsets(reel) == dict.fromkeys(NAMES, 0)


def test_what_cannot_be_taken_is_told_in_a_line_and_paste_and_reset_go_to_all(reel: Path) -> None:
    turns(
        reel,
        (["*"], "5 shots are marked"),
        (["G", "q"], "moved 4 of 5 shots; unchanged: pier.png (a greyscale picture"),
        (["C", "R"], "reset 4 of 5 shots; unchanged: pier.png (already neutral)"),
        (["V"], "pasted onto 5 shots; undo takes it back"),
        (["*"], "no shot is marked"),
        (["q"], "GROUP 1"),
    )
    assert offsets(reel) == {"ferry.png": 0.01} | dict.fromkeys(NAMES[1:], 0.005)


def test_other_tables_work_at_the_shot_in_hand(reel: Path) -> None:
    turns(
        reel,
        (["*", "G", "L"], "5 marked"),
        (["enter", "w"], "undo 2"),
        (["escape"], "GROUP 5"),
    )
    assert list(offsets(reel)) == ["ferry.png"]


def test_many_saves_at_the_end_are_said_and_done(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(30):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / f"net{number}.png")
    said: list[str] = []

    app = Poise(Session(scan([tmp_path]).shots), keymap(), POOR)

    def held(job: Job) -> Outcome:
        """No save is done before the end, however slow the keys were."""
        until(lambda: any(text.startswith("saving") for text, _ in app.screen_stack[0]._said))  # type: ignore[attr-defined]
        return write(job)

    monkeypatch.setattr(saver, "write", held)

    async def sit() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("*", "G", "q", "q", "Q")
            await until_in(pilot, lambda: app._exit)
            screen = app.screen_stack[0]
            assert isinstance(screen, DeskScreen)
            said.extend(text for text, _ in screen._said)

    asyncio.run(sit())
    assert said[-1] == "saving 30 shots ..."
    offsets = [load(path).correction.balance.offset[0] for path in tmp_path.glob("*.json")]
    assert offsets == [0.01] * 30
