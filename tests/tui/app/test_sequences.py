"""A sequence in the app, by keys: its frames, and the one that it is judged on."""

import asyncio
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sitting import text as shown
from sitting import until
from until import until_in

from poise.frames import scan
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session

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
            await until(pilot, "judged by frame 1003 from now on")
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


def test_the_run_shows_drift_and_the_frame_that_jumps_and_follows_nudges(pier: Path) -> None:
    async def sit() -> None:
        app = app_on(pier)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("D")
            await until(pilot, "one frame jumps: 1005 (+10.0 %)")
            await until(pilot, "drifts +8.0 % in the middle over 9 frames")
            await pilot.press("}")
            await until(pilot, "frame 1005 of 1001-1009 @1001")
            await pilot.press("}")
            await until(pilot, "no further frame jumps")
            others = [file for file in pier.glob("pier.*.png") if file.name != "pier.1005.png"]
            away = [file.rename(file.with_suffix(".away")) for file in others]
            await pilot.press("3", "=", "=", *"rrrrrr")  # nudges go by samples: no file is read for them
            await until(pilot, "jumps: 1005 (+12.")
            slope = app.session.slot.decision.correction.balance.slope[0]  # 1.01 ** 24

            def drift() -> float:
                return next((float(line.split()[1]) for line in shown(pilot) if line.startswith("drifts")), 0.0)

            await until_in(pilot, lambda: drift() == pytest.approx(8 * slope, abs=0.15), drift)
            await pilot.press("space")
            await until(pilot, "BEFORE over 9 frames, % ~")
            await until(pilot, "drifts +8.0 % in the middle over 9 frames")
            for file in away:
                file.rename(file.with_suffix(".png"))
            await pilot.press("P", "escape")
            assert app.session.hand.mode == "balance"
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())
    assert kept(pier)["judged"] == 1005


def test_a_broken_frame_in_the_middle_is_marked_and_passed(pier: Path) -> None:
    (pier / "pier.1004.png").write_bytes(b"\x89PNG\r\n\x1a\n")

    async def sit() -> None:
        app = app_on(pier, (80, 24), unicode=False)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("D")
            await until(pilot, "can't be read: 1004; drifts")
            await pilot.press("right", "right", "right")  # on it
            await until(pilot, "frame 1004 of 1001-1009 @1001")
            assert any("@" in line and "^" in line and "!" in line for line in shown(pilot))
            await pilot.press("right")
            await until(pilot, "frame 1005 of 1001-1009 @1001")
            assert all(line.isascii() for line in shown(pilot))
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())


def test_a_still_says_so_and_enter_goes_on(pier: Path) -> None:
    async def sit() -> None:
        app = app_on(pier, (80, 24))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("D", "enter")
            await until(pilot, "this shot is a still; only a sequence has a run")
            await pilot.press("}")
            await until(pilot, "this shot is a still")
            await pilot.press("?")
            await until(pilot, "over the frames")
            await pilot.press("escape", "D", "Q")
        assert app.fault is None

    asyncio.run(sit())
    assert kept(pier)["state"] == "balanced"


def test_two_frames_have_a_run(tmp_path: Path) -> None:
    for place in range(2):
        Image.new("RGB", (32, 18), (80 + 20 * place,) * 3).save(tmp_path / f"tide.{place:04}.png")

    async def sit() -> None:
        app = app_on(tmp_path, (80, 24))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("D")
            await until(pilot, "drifts +7.8 % in the middle over 2 frames")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())
