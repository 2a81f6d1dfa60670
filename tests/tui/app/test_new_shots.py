"""Shots that land while the app is open appear, and the current one is left alone; by the pilot and on a real pty."""

import asyncio
import os
import sys
from pathlib import Path

import pytest
from PIL import Image
from sitting import POOR, text, until
from terminals import KEYS, Pty

from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session
from poise_tui.workers import folder_watcher

APP = [sys.executable, "-c", "from poise.commands import main; main()"]


@pytest.fixture
def day(tmp_path: Path) -> Path:
    for name in ("ferry.png", "pier.0101.png", "pier.0102.png", "quay.png"):
        picture(tmp_path / name)
    return tmp_path


def picture(path: Path) -> None:
    """Written beside and moved into place, as a careful copy does it."""
    Image.new("RGB", (64, 36), (90, 100, 110)).save(path.with_suffix(".part"), "PNG")
    os.replace(path.with_suffix(".part"), path)


def test_shots_come_and_go_around_the_one_in_hand(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name, seconds in (("DELAY", 0.0), ("WAKE", 0.02), ("POLL", 0.1), ("STILL", 0.1)):
        monkeypatch.setattr(folder_watcher, name, seconds)

    async def sit() -> None:
        app = Poise(Session(scan([day]).shots), keymap(), POOR, paths=[day])
        async with app.run_test(size=(80, 24)) as pilot:
            await until(pilot, "shots 1/3")
            await pilot.press("down", "q", "X")
            await until(pilot, "saved")
            for name in ("buoy.png", "lighthouse.png", "pier.0103.png"):
                picture(day / name)
            for words in ("shots 4/5", "buoy.png", "lighthouse.png", "101 of 101-103"):
                await until(pilot, words)
            assert app.session.slot.shot.name == "pier.####.png"
            assert all(line.isascii() for line in text(pilot))
            await pilot.press("q", "up", "w", "home", "e")
            await until(pilot, "shots 1/5")
            os.unlink(day / "quay.png")
            await until(pilot, "shot gone; decisions are kept: quay.png")
            await until(pilot, "! quay.png")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())
    offsets = {path.name: load(path).correction.balance.offset for path in day.glob("*.json")}
    assert offsets == {
        "pier.####.png.poise.json": (0.01, 0, 0),
        "lighthouse.png.poise.json": (0, 0.005, 0),
        "buoy.png.poise.json": (0, 0, 0.005),
    }


def test_on_a_real_terminal_a_copy_in_pieces_appears_when_it_is_whole(day: Path) -> None:
    with Pty([*APP, str(day)], 80, 24) as pty:
        pty.wait_for("shots 1/3")
        pty.send(KEYS["end"])
        pty.wait_for("shots 3/3")
        whole = (day / "ferry.png").read_bytes()
        with (day / "market.png").open("wb") as file:
            for start in range(0, len(whole), len(whole) // 4 + 1):
                file.write(whole[start : start + len(whole) // 4 + 1])
                file.flush()
                pty.wait_quiet(0.1)
        pty.wait_for("shots 4/4")
        pty.send(KEYS["home"] + KEYS["down"] + "q")
        pty.wait_for("market.png 64 x 36")
        pty.send("Q")
        assert pty.wait(10) == 0
    assert load(day / "market.png.poise.json").correction.balance.offset == (0.005, 0, 0)
