"""A sequence in the app, by keys: its frames, and the one that it is judged on."""

import asyncio
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from textual.pilot import Pilot

from poise.frames import scan
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keymap import keymap
from poise_tui.session import Session
from poise_tui.widgets.cellview import CellView

SIDECAR = "pier.####.png.poise.json"


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    """A still, and nine frames that become lighter by 1 % a frame, the fifth of them 10 % lighter still."""
    rng = np.random.default_rng(1)
    grain = rng.uniform(0.2, 0.6, (36, 64, 3))
    for place in range(9):
        levels = grain + 0.01 * place + 0.1 * (place == 4)
        Image.fromarray(np.uint8(levels * 255 + 0.5)).save(tmp_path / f"pier.{1001 + place}.png")
    Image.fromarray(np.uint8(grain * 255)).save(tmp_path / "quay_02.png")
    return tmp_path


def shown(pilot: Pilot[int]) -> list[str]:
    panes = [pane for pane in pilot.app.screen.query(CellView) if pane._shown and pane.place.area]
    return [line.rstrip() for pane in panes for line in pane._shown.lines()]  # type: ignore[union-attr]


async def until(pilot: Pilot[int], text: str) -> None:
    for _ in range(300):
        if any(text in line for line in shown(pilot)):
            return
        await pilot.pause(0.02)
    raise AssertionError(f"{text!r} never came: {shown(pilot)}")


def app_on(folder: Path, size: tuple[int, int] = (120, 40), unicode: bool = True) -> Poise:
    return Poise(Session(scan([folder]).shots), keymap(), Look(Capability(*size, "truecolor", unicode)))


def kept(folder: Path) -> dict[str, object]:
    found = json.loads((folder / SIDECAR).read_text())
    assert isinstance(found, dict)
    return found


def test_a_pinned_frame_is_in_the_sidecar_and_the_app_opens_there(pier: Path) -> None:
    async def first() -> None:
        app = app_on(pier)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("right", "right", "P")
            await until(pilot, "judged on frame 1003 from now on")
            await until(pilot, "frame 1003 of 1001-1009, judged")
            await until(pilot, "@1003")
            await pilot.press(*":frame last", "enter")
            await until(pilot, "frame 1009 of 1001-1009 @1003")
            await pilot.press("P", "Z", "Q")
        assert app.fault is None

    async def again() -> None:
        app = app_on(pier, (80, 24), unicode=False)
        async with app.run_test(size=(80, 24)) as pilot:
            await until(pilot, "frame 1003 of 1001-1009, judged")
            await pilot.press("left", *":frame judged", "enter")
            assert app.session.slot.frame == 2
            await pilot.press("down", "P")
            await until(pilot, "this shot is a still")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(first())
    assert kept(pier)["judged"] == 1003
    asyncio.run(again())
    assert kept(pier)["judged"] == 1003
    assert not (pier / "quay_02.png.poise.json").exists()
