"""A disk that takes its time: no key ever waits for it, and no key is lost over it."""

import asyncio
import os
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PIL import Image
from sitting import POOR, until
from textual import events
from until import until_in

from poise.correction import Balance, Correction
from poise.frames import scan
from poise.sidecar import ShotInfo, Sidecar, load, save
from poise_tui.app import Poise
from poise_tui.keys.keymap import keymap
from poise_tui.screens.desk import DeskScreen
from poise_tui.session.session import Session

SLOW = 0.6
"""Seconds that the disk takes to answer one call."""
HELD = 0.5
"""Seconds of a key or a tick, on a machine that is busy otherwise; waiting for the disk once takes longer."""
CALLS = ("stat", "lstat", "open", "scandir", "listdir")


class SlowDisk:
    """Calls to the file system below a folder take long, and it is remembered which thread made them."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.seconds = 0.0
        self.by_keys: list[tuple[str, str]] = []
        self._folder, self._keys = str(folder), threading.get_ident()
        for name in CALLS:
            monkeypatch.setattr(os, name, self._slow(name, getattr(os, name)))
        monkeypatch.setattr("builtins.open", self._slow("open", open))

    def _slow(self, name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def slow(path: Any = ".", *more: Any, **named: Any) -> Any:
            if self.seconds and isinstance(path, str | os.PathLike) and os.fspath(path).startswith(self._folder):
                if threading.get_ident() == self._keys:
                    self.by_keys.append((name, os.fspath(path)))
                time.sleep(self.seconds)
            return call(path, *more, **named)

        return slow


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """Six shots; the third was balanced before."""
    for number in range(6):
        Image.new("RGB", (64, 36), (90, 100, 110)).save(tmp_path / f"quay_{number}.png")
    third = Sidecar(shot=ShotInfo("quay_2.png", 64, 36), correction=Correction(saturation=0.5), state="balanced")
    save(tmp_path / "quay_2.png.poise.json", third, None)
    return tmp_path


def test_no_key_waits_for_the_disk_and_none_is_lost(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    disk = SlowDisk(day, monkeypatch)
    took: list[float] = []

    async def sit() -> None:
        app = Poise(Session(scan([day]).shots), keymap(), POOR)
        async with app.run_test(size=(100, 32)) as pilot:
            await until(pilot, "shots 1/6")
            screen = app.screen
            assert isinstance(screen, DeskScreen)

            async def press(*keys: str) -> None:
                for key in keys:
                    begun = time.perf_counter()
                    screen._press(events.Key(key, key if len(key) == 1 else None))
                    screen._coordinator.tick()
                    took.append(time.perf_counter() - begun)
                    await pilot.pause(0.01)

            disk.seconds = SLOW
            await press("down", "down", "q", "q")  # onto what was balanced before, and on it at once
            await until(pilot, "+0.010")
            await press("space", "up", "up", "X", "down", "M", "up", "enter")
            for _ in range(40):  # at rest: looking at the current files, reading ahead
                begun = time.perf_counter()
                screen._coordinator.tick()
                took.append(time.perf_counter() - begun)
                await pilot.pause(0.05)
            disk.seconds = 0.0
            for _ in range(200):
                if app.session.unsaved:
                    await pilot.pause(0.05)
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())
    assert disk.by_keys == []
    assert max(took) < HELD
    third = load(day / "quay_2.png.poise.json")
    assert third.correction == replace(Correction(saturation=0.5), balance=Balance(offset=(0.01, 0, 0)))
    assert third.state == "balanced"


def test_a_nudge_of_the_group_waits_for_all_its_sidecars(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    disk = SlowDisk(day, monkeypatch)

    async def sit() -> None:
        app = Poise(Session(scan([day]).shots), keymap(), POOR)
        async with app.run_test(size=(100, 32)) as pilot:
            await until(pilot, "shots 1/6")
            disk.seconds = 0.1
            await pilot.press("*", "G", "q", "q", "Q")
            await until_in(pilot, lambda: app._exit)
        assert app.fault is None

    asyncio.run(sit())
    disk.seconds = 0.0
    offsets = [load(path).correction.balance.offset[0] for path in sorted(day.glob("*.json"))]
    assert offsets == [0.01] * 6


def test_quitting_twice_leaves_without_the_keys_that_wait(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    disk = SlowDisk(day, monkeypatch)
    said: list[str] = []

    async def sit() -> None:
        app = Poise(Session(scan([day]).shots), keymap(), POOR)
        disk.seconds = 1.0
        async with app.run_test(size=(100, 32)) as pilot:
            screen = app.screen
            assert isinstance(screen, DeskScreen)
            await pilot.press("*", "G", "q", "Q")
            said.extend(text for text, _ in screen._said)
            await pilot.press("Q")
            await until_in(pilot, lambda: app._exit)
        assert app.fault is None

    asyncio.run(sit())
    assert said[-1] == "keys are waiting for the disk; quit again to leave without them"
    assert [path.name for path in day.glob("*.json")] == ["quay_2.png.poise.json"]
