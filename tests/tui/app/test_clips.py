"""A clip in the app, by keys: its frames, its timecode, and the frame that it is judged by."""

import asyncio
from pathlib import Path

import clips
from PIL import Image
from sitting import text as shown
from sitting import until
from textual.pilot import Pilot
from until import until_in

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


def test_a_wrong_matrix_is_overruled_seen_at_once_and_undone(tmp_path: Path) -> None:
    """A saturated red: by BT.601 its red is Y + 1.402 Cr, by BT.709 Y + 1.5748 Cr (of full range)."""
    planes = clips.noise("yuv444p10le")
    for plane, code in zip(planes, (400, 512, 640), strict=True):
        plane[:] = code
    clips.clip(tmp_path / "quay_04.mkv", "ffv1", "yuv444p10le", [planes] * 2, colorspace=6, color_range=1)
    Image.new("RGB", (32, 18), (90, 90, 90)).save(tmp_path / "quay_05.png")
    red = {kr: 100 * (round(400 + 2 * (1 - kr) * 219 / 224 * 128) - 64) / 876 for kr in (0.299, 0.2126)}

    def stands(pilot: Pilot[int], level: float) -> bool:
        return any(line.split() == ["R", *[f"{level:.1f}"] * 3] for line in shown(pilot))

    async def session() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), Look(Capability(140, 40, "truecolor", True)))
        async with app.run_test(size=(140, 40)) as pilot:
            await until_in(pilot, lambda: stands(pilot, red[0.299]), lambda: shown(pilot))
            await pilot.press(*":matrix BT.709", "enter")
            await until_in(pilot, lambda: stands(pilot, red[0.2126]), lambda: shown(pilot))
            await pilot.press("Z")
            await until_in(pilot, lambda: stands(pilot, red[0.299]), lambda: shown(pilot))
            await pilot.press("Y", *":matrix 709", "enter")
            await until(pilot, "a matrix is BT.601, BT.709, BT.2020, or tagged")
            await until_in(pilot, lambda: stands(pilot, red[0.2126]), lambda: shown(pilot))
            await pilot.press(*":matrix tagged", "enter")
            await until_in(pilot, lambda: stands(pilot, red[0.299]), lambda: shown(pilot))
            await pilot.press(*":matrix BT.709", "enter", "down", *":matrix BT.709", "enter")
            await until(pilot, "it is no movie, so it has no matrix")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())
    sidecar = load(tmp_path / "quay_04.mkv.poise.json")
    assert sidecar.encoding is not None
    assert sidecar.encoding.matrix == "BT.709"
