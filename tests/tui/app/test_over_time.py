"""A sequence over time in the app, by keys: keyframes, and a steady run, as apply then writes them."""

import asyncio
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image
from sitting import text as shown
from sitting import until
from skimage import data
from until import until_in

from poise.colour.transfer import decode, encode
from poise.commands import main
from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session

NUMBERS = range(1001, 1013)
GAINS = 1 + 0.05 * np.random.default_rng(4).normal(size=len(NUMBERS))


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    """Twelve frames of one photograph whose level flickers by 5 %."""
    folder = tmp_path / "day"
    folder.mkdir()
    light = 0.5 * decode("sRGB", data.coffee()[100:172, 100:228] / 255.0)
    for number, gain in zip(NUMBERS, GAINS, strict=True):
        pixels = np.rint(255 * encode("sRGB", light * gain)).astype(np.uint8)
        Image.fromarray(pixels).save(folder / f"pier.{number}.png")
    return folder


def written(folder: Path) -> np.ndarray:
    """The mean of red, green and blue in light of every frame."""
    frames = [np.asarray(Image.open(path)) / 255 for path in sorted(folder.glob("*.png"))]
    return np.array([decode("sRGB", frame).mean(axis=(0, 1)) for frame in frames])


@pytest.mark.usefixtures("in_this_process")
@pytest.mark.parametrize(("size", "unicode"), [((80, 24), False), ((120, 40), True)])
def test_a_fade_of_warmth_by_two_keyframes_steadied_undone_applied_and_checked(
    pier: Path, tmp_path: Path, size: tuple[int, int], unicode: bool
) -> None:
    app = Poise(Session(scan([pier]).shots), keymap(), Look(Capability(*size, "truecolor", unicode)))
    sidecar = pier / "pier.####.png.poise.json"

    async def sit() -> None:
        session = app.session
        async with app.run_test(size=size) as pilot:

            def warmth() -> float:
                return session.slot.decision.correction.light.warmth

            await pilot.press("D", "backspace")
            await until(pilot, "frame 1001 is no keyframe, and there are none")
            await pilot.press("+")
            await until(pilot, "keyframe at 1001")
            await pilot.press(*":frame last", "enter", "=", "t")
            await until(pilot, "frame 1012 is no keyframe")
            assert warmth() == 0
            await pilot.press("t", "t")
            assert warmth() == 20
            assert [one.frame for one in session.slot.decision.keyframes] == [1001, 1012]
            await pilot.press(*":frame 1007", "enter")
            assert warmth() == pytest.approx(20 * 6 / 11)
            await pilot.press("Z")  # both nudges, and with them the keyframe
            assert len(session.slot.decision.keyframes) == 1
            await pilot.press("Y", "'")
            assert session.slot.frame == 11
            await until(pilot, "% rms, worst")  # all frames are read
            if size == (120, 40):
                assert any(line.count("+") == 2 or "@" in line for line in shown(pilot))
            await pilot.press("U")
            await until_in(pilot, lambda: session.slot.decision.steady is not None)
            await until(pilot, "flicker")
            await pilot.press("Z")
            assert session.slot.decision.steady is None
            assert len(session.slot.decision.keyframes) == 2
            await pilot.press("Y")
            await until(pilot, "no flicker")
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())
    assert [one.correction.light.warmth for one in load(sidecar).keyframes] == [0, 20]
    assert load(sidecar).correction.light.warmth == 0
    out = tmp_path / "out"
    check = ["check", pier, "--out", out, "--limits", "full", "--frames", "all"]
    for words in (["apply", pier, "--out", out], check):
        result = CliRunner().invoke(main, [str(word) for word in (*words, "--workers", 1)])
        assert result.exit_code == 0, result.output
    levels, before = written(out), written(pier)
    red = levels[:, 0] / levels[:, 2]
    assert np.all(np.diff(red) > 0)  # it becomes warmer from frame to frame
    departs = [np.diff(np.log(values[:, 1]), 2).std() for values in (before, levels)]
    assert departs[1] < departs[0] / 5
