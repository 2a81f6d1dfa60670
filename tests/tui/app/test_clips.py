"""A clip in the app, by keys: its frames, its timecode, and the frame that it is judged by."""

import asyncio
from pathlib import Path

import clips
from sitting import until

from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session


def test_a_clip_is_stepped_through_frame_by_frame(tmp_path: Path) -> None:
    frames = clips.greys([200, 400, 600, 800, 900], "yuv422p10le")
    path = clips.clip(tmp_path / "quay_04.mov", "prores_ks", "yuv422p10le", frames, timecode="10:00:00:12")

    async def session() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), Look(Capability(140, 40, "truecolor", True)))
        async with app.run_test(size=(140, 40)) as pilot:
            await until(pilot, "frame 1 of 1-5, judged")
            await until(pilot, "10:00:00:12")
            await pilot.press("right", "right", "P")
            await until(pilot, "judged by frame 3 from now on")
            await until(pilot, "25 fps 10:00:00:14")
            await pilot.press("D")
            await until(pilot, "over 5 frames")
            await pilot.press("D", "Q")
        assert app.fault is None

    asyncio.run(session())
    assert load(path.with_name("quay_04.mov.poise.json")).judged == 3
