"""The frames of a clip or sequence are played by a key: in its time, with scopes, left out rather than queued."""

import asyncio
import threading
import time
from collections.abc import Awaitable, Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import clips
import dpx_blocks
import numpy as np
import pytest
from PIL import Image
from sitting import text as shown
from sitting import until
from textual.pilot import Pilot
from until import until_in

from poise.frames import read, scan
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.playing import Playing
from poise_tui.session.session import Session
from poise_tui.workers import loader

FRAMES = 50
LEVELS = np.linspace(100, 900, FRAMES).astype(int).tolist()


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """A clip of two seconds that becomes lighter, and a still."""
    clips.clip(tmp_path / "quay_04.mov", "prores_ks", "yuv422p10le", clips.greys(LEVELS, "yuv422p10le"))
    Image.new("RGB", (32, 18), (90, 90, 90)).save(tmp_path / "quay_05.png")
    return tmp_path


def sit(folder: Path, do: Callable[[Pilot[int], Poise], Awaitable[None]], size: tuple[int, int] = (140, 40)) -> None:
    async def session() -> None:
        app = Poise(Session(scan([folder]).shots), keymap(), Look(Capability(*size, "truecolor", size[0] > 90)))
        async with app.run_test(size=size) as pilot:
            await do(pilot, app)
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())


def median(app: Poise) -> float:
    """The median of luma of the scopes on screen, in per cent."""
    view = app.screen_stack[0]._coordinator.viewer.view  # type: ignore[attr-defined]
    return float(view.readings.luma.median) if view else -1.0


def test_the_frame_due_is_that_of_the_time_of_the_clip() -> None:
    # SMPTE ST 12-1: at 30000/1001 frames a second ten minutes have 17,982 frames
    playing = Playing(0, 0, 100.0, Fraction(30000, 1001), 0)
    assert [playing.due(100 + seconds, 10**6) for seconds in (0.0, 0.03, 0.034, 600.0)] == [0, 0, 1, 17982]
    assert playing.due(800, 99) == 99


@pytest.mark.parametrize("size", [(140, 40), (80, 24)])
def test_a_clip_plays_to_its_end_with_its_scopes(day: Path, size: tuple[int, int]) -> None:
    async def do(pilot: Pilot[int], app: Poise) -> None:
        await until_in(pilot, lambda: median(app) > 0)
        seen: list[tuple[int, float]] = []
        await pilot.press("_")
        await until(pilot, "playing at 25 frames a second; _ stops")

        def ended() -> bool:
            seen.append((app.session.slot.frame, median(app)))
            return any("played 50 frames, " in line for line in shown(pilot))

        await until_in(pilot, ended, lambda: shown(pilot))
        frames, levels = zip(*seen, strict=True)
        assert list(frames) == sorted(frames)
        assert frames[-1] == FRAMES - 1
        assert len(set(frames)) > 2  # it did not jump there
        assert all(level > 0 for level in levels)  # scopes at all times
        # code 900 of 10 bit, narrow range: (900 - 64) / 876 of full signal (ITU-R BT.709-6, item 5)
        assert levels[-1] == pytest.approx(100 * (900 - 64) / 876, abs=0.3)
        await pilot.press("_", "space")  # from the last frame it begins again; before and after goes on meanwhile
        await until(pilot, "played 50 frames, ")  # which the second key took from the screen
        assert app.session.before

    sit(day, do, size)


def test_the_same_key_stops_and_others_act_from_there(day: Path) -> None:
    async def do(pilot: Pilot[int], app: Poise) -> None:
        session = app.session
        await until(pilot, "frame 1 of 1-50")
        await pilot.press("_")
        await until_in(pilot, lambda: session.slot.frame >= 2)
        await pilot.press("_")
        await until(pilot, " frames, ")
        there = session.slot.frame
        await until(pilot, f"played {there + 1} frames, ")
        await pilot.press("right")
        await until(pilot, f"frame {there + 2} of 1-50")
        await pilot.press("_")
        await until_in(pilot, lambda: session.slot.frame > there + 3)
        await pilot.press("left")
        here = session.slot.frame
        await until(pilot, f"frame {here + 1} of 1-50")
        await pilot.press("_")
        await until_in(pilot, lambda: session.slot.frame > here)
        await pilot.press("r")  # a nudge stops as well
        here = session.slot.frame
        await until(pilot, "saved")
        assert session.slot.history.depth == 1
        await pilot.press("_", "down", "_")
        await until(pilot, "this shot is a still")
        assert session.slots[0].frame >= here
        await pilot.press("E", "_")
        await until(pilot, "_ does nothing here")

    sit(day, do)


def test_frames_that_cannot_be_shown_in_time_are_left_out(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While one frame takes long to read, no other is asked for; then the one that is due follows it."""
    gate, asked = threading.Event(), []

    def slow(file: Any) -> Any:
        asked.append(getattr(file, "number", 0))
        if asked[-1] > 1:
            assert gate.wait(120)
        return read(file)

    async def do(pilot: Pilot[int], app: Poise) -> None:
        desk = app.screen_stack[0]
        await until(pilot, "frame 1 of 1-50")
        await until_in(pilot, lambda: median(app) > 0)
        await until_in(pilot, lambda: 2 in asked)  # the neighbour, read ahead
        await pilot.press("_")
        await until_in(pilot, lambda: app.session.slot.frame > 0)
        waiting = app.session.slot.frame + 1

        def late() -> bool:
            playing = desk._playing  # type: ignore[attr-defined]
            return bool(playing.due(time.monotonic(), FRAMES - 1) >= waiting + 20)

        await until_in(pilot, late)
        assert app.session.slot.frame + 1 == waiting
        assert set(asked) <= {0, 1, 2, waiting}  # 0: the still
        gate.set()
        await until_in(pilot, lambda: app.session.slot.frame + 1 > waiting)
        assert app.session.slot.frame + 1 >= waiting + 20
        await until(pilot, "played 50 frames, ")

    monkeypatch.setattr(loader, "read", slow)
    sit(day, do)
    own = [number for number in asked if number > 2]
    own = own[: own.index(FRAMES) + 1]  # then its neighbours follow
    assert own == sorted(own)
    assert len(own) < FRAMES - 20


def test_a_sequence_without_a_rate_and_with_a_broken_frame_plays_through(tmp_path: Path) -> None:
    for place in range(8):
        Image.new("RGB", (32, 18), (80 + 10 * place,) * 3).save(tmp_path / f"tide.{place:04}.png")
    (tmp_path / "tide.0003.png").write_bytes(b"\x89PNG\r\n\x1a\n")

    async def do(pilot: Pilot[int], app: Poise) -> None:
        await until(pilot, "frame 0 of 0-7")
        await pilot.press("D", "_")
        await until(pilot, "playing at 25 frames a second, as the frames tell no rate; _ stops")
        await until(pilot, "played 8 frames, ")
        assert app.session.slot.frame == 7

    sit(tmp_path, do, (80, 24))


def test_a_sequence_plays_at_the_rate_of_its_headers(tmp_path: Path) -> None:
    """SMPTE ST 268-1, table 5: the timecode at 1920, the frame rate at 1940."""
    for place in range(4):
        grey = np.full((4, 6, 3), 300 + 100 * place, np.uint16)
        dpx_blocks.build(
            tmp_path / f"tide.{place:04}.dpx", grey, 10, timecode=0x10000000 + place, **{"tv frame rate": 8.0}
        )

    async def do(pilot: Pilot[int], app: Poise) -> None:
        await until(pilot, "8 fps 10:00:00:00")
        await pilot.press("_")
        await until(pilot, "playing at 8 frames a second; _ stops")
        await until(pilot, "played 4 frames, ")
        await pilot.press("left")
        await until(pilot, "8 fps 10:00:00:02")

    sit(tmp_path, do)
