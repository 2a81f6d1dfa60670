"""A chart by keys: four corners under the cursor, or found, balance the shot; each patch is told."""

import asyncio
from pathlib import Path

import numpy as np
import pytest
from charted import picture
from PIL import Image
from sitting import SIZES, sit, text, until
from until import until_in

from poise.colour.transfer import encode
from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session

ROUND = ["N", "=", "=", *["left"] * 8, *["up"] * 5, "+", *["right"] * 16, "+", *["down"] * 10, "+", *["left"] * 16, "+"]
"""The corners of the chart, in steps of four."""


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    """A chart of measured reflectances (colour-science, BabelColor Average) under D50, a stop too dark."""
    light, _ = picture("D50", stops=-1, size=1.58)
    coded = np.rint(255 * np.clip(encode("sRGB", light), 0, 1)).astype(np.uint8)
    Image.fromarray(coded).save(tmp_path / "chart.png")
    Image.fromarray(np.full((36, 64, 3), 90, np.uint8)).save(tmp_path / "quay.png")
    return tmp_path


@pytest.mark.parametrize("size", SIZES)
def test_four_corners_balance_the_shot(quay: Path, size: tuple[int, int]) -> None:
    shown = sit(quay, ROUND, size, then="(:patches lists each)")
    sidecar = load(quay / "chart.png.poise.json")
    assert sidecar.correction.light.exposure == pytest.approx(1, abs=0.06)
    # D50 is 200 mired, the base of warmth 181.8, and D65 153.8
    assert sidecar.correction.light.warmth == pytest.approx(-46, abs=12)
    assert sidecar.by_hand
    assert any("CIEDE2000" in line for line in shown)


def test_a_chart_is_found_and_its_patches_are_listed(quay: Path) -> None:
    sit(quay, ["N", "U"], then="(:patches lists each)")
    assert load(quay / "chart.png.poise.json").correction.light.exposure == pytest.approx(1, abs=0.06)
    shown = sit(quay, ["N", "U", "wait:(:patches", ":", *"patches", "enter"])
    assert any("CIEDE2000 under D50" in line for line in shown)
    named = [line for line in shown if line.startswith(("dark skin", "white 9.5"))]
    assert len(named) == 2


def test_a_chart_that_is_right_already_leaves_the_shot_alone(quay: Path) -> None:
    sit(quay, ["N", "U", "wait:(:patches"], then="saved")
    first = load(quay / "chart.png.poise.json")
    shown = sit(quay, ["N", "U"], then="left alone")
    assert any("would be no better than it is, mean CIEDE2000" in line for line in shown)
    assert load(quay / "chart.png.poise.json") == first


def test_corners_are_shown_taken_back_and_belong_to_their_shot(quay: Path) -> None:
    shown = sit(quay, ["N", "9", *["left"] * 9, "+", *["right"] * 18, "+"], then="2 of 4 chart corners")
    assert any("1" in line and "2" in line and "\u2580" in line for line in shown)
    assert any("1 of 4 chart corners" in line for line in sit(quay, ["N", "+", "+", "backspace"]))
    gone = ["N", "+", "]", "[", "backspace"]
    assert any("no chart corner is set" in line for line in sit(quay, gone))
    assert not list(quay.glob("*.json"))


def test_where_there_is_none_it_says_so(quay: Path) -> None:
    shown = sit(quay, ["]", "N", "U"], then="set its corners")
    assert any("no chart found" in line for line in shown)
    sit(quay, [":", *"patches", "enter"], then="no chart has been read yet")


def test_a_hint_that_nobody_asked_for_covers_no_answer(quay: Path) -> None:
    """The picture is flat, which is said once every pixel was measured."""

    async def session() -> None:
        app = Poise(Session(scan([quay]).shots), keymap(), Look(Capability(*SIZES[0], "truecolor", True)))
        async with app.run_test(size=SIZES[0]) as pilot:
            await until(pilot, "shots")
            await pilot.press(":", *"patches", "enter")
            await until(pilot, "no chart has been read yet")
            said = app.screen_stack[0]._said  # type: ignore[attr-defined]
            await until_in(pilot, lambda: any("as flat as log footage" in line for line, _ in said))
            assert any("no chart has been read yet" in line for line in text(pilot))
            await pilot.press("Q")

    asyncio.run(session())
