"""The modes by keys: what the sidecar holds afterwards, and what stands on a small and on a large screen."""

import asyncio
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy.interpolate import PchipInterpolator
from sitting import SIZES, drawn, sit, until
from skimage import data

from poise.colour.transfer import decode
from poise.frames import scan
from poise.sidecar import load
from poise_tui.actions import ACTIONS
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.help import lines
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    """NASA's portrait of Eileen Collins (skimage.data), and a grey card under a warm light: 40 % more red than blue."""
    Image.fromarray(data.astronaut()).save(tmp_path / "suit_01.png")
    card = np.broadcast_to(np.uint8([140, 120, 100]), (36, 64, 3))
    Image.fromarray(np.ascontiguousarray(card)).save(tmp_path / "card_00.png")
    return tmp_path


@pytest.mark.parametrize("size", SIZES)
def test_a_curve_by_keys(pier: Path, size: tuple[int, int]) -> None:
    """From 0.5 ten steps of 0.01 to the left; up six steps of 0.005; then a point at 0.8, lowered by two of 0.01."""
    keys = ["down", "L", *["left"] * 10, *["up"] * 6, "=", *["right"] * 20, "enter", "down", "down", "{"]
    shown = sit(pier, keys, size)
    points = load(pier / "suit_01.png.poise.json").correction.curves.master
    before = PchipInterpolator([0, 0.4, 1], [0, 0.43, 1])
    assert points == (
        (0.0, 0.0), (0.4, pytest.approx(0.43)), (0.8, pytest.approx(float(before(0.8)) - 0.02, abs=1e-9)), (1.0, 1.0)
    )  # fmt: skip
    assert "curve of master, 4 points" in shown
    assert any(line.startswith("0.400") and "0.430" in line for line in shown)
    assert any("@" in line for line in shown)
    assert sum(line.count("o") for line in shown if "|" not in line and "point" not in line) >= 3


def test_a_curve_does_not_fold_back_and_says_why(pier: Path) -> None:
    shown = sit(pier, ["down", "L", "left", "up", "right", "right", *["="] * 3, *["down"] * 40])
    assert any("a curve can't fall: the previous point stands at 0.495" in line for line in shown), shown
    points = load(pier / "suit_01.png.poise.json").correction.curves.master
    assert all(y1 >= y0 for (_, y0), (_, y1) in pairwise(points))


def test_one_key_straightens_a_curve(pier: Path) -> None:
    sit(pier, ["down", "L", "1", "up", "up", "4", "up", "R"])
    curves = load(pier / "suit_01.png.poise.json").correction.curves
    assert (curves.master, len(curves.red)) == (((0.0, 0.0), (1.0, 1.0)), 3)


@pytest.mark.parametrize("size", SIZES)
def test_a_grey_is_picked_in_light(pier: Path, size: tuple[int, int]) -> None:
    shown = sit(pier, ["N", "enter"], size)
    light = load(pier / "card_00.png.poise.json").correction.light
    assert light.warmth < -20
    assert any("mired" in line and "CC" in line for line in shown)
    # the figures of the patch, in per cent of signal, are those of one grey
    figures = [float(line.split()[1]) for line in shown if line.startswith(("red ", "green ", "blue ")) and "%" in line]
    assert len(figures) == 3
    assert max(figures) - min(figures) < 0.5
    assert decode("sRGB", np.array(figures) / 100).std() < 0.003


def test_a_grey_is_picked_by_balance_in_its_zone(pier: Path) -> None:
    sit(pier, ["N", "B"])
    correction = load(pier / "card_00.png.poise.json").correction
    assert (correction.light.warmth, len(set(correction.balance.power))) == (0, 3)  # between 1/3 and 2/3: midtones


@pytest.mark.parametrize("size", SIZES)
def test_a_matte_on_the_screen(pier: Path, size: tuple[int, int]) -> None:
    shown = sit(pier, ["down", "K", "enter", "O", "I", "6", "8"], size)
    matte = load(pier / "suit_01.png.poise.json").correction.mattes[0]
    assert (matte.on, matte.invert) == (False, True)
    assert "mattes 1/1" in shown
    assert any(line.startswith("matte alone, inverted") for line in shown)
    for name in ("hue", "chroma", "luma"):  # its axis with both ends of the range
        assert any(line.startswith(f"{name} ") and "[" in line and "]" in line for line in shown), name
    assert any(line.startswith("covers") for line in shown)


def test_keys_typed_ahead_of_a_picture_wait_for_it(pier: Path) -> None:
    """All in one go, without a wait for what is drawn: the next shot, its first colour keyed, and turned."""

    async def session() -> None:
        app = Poise(Session(scan([pier]).shots), keymap(), Look(Capability(120, 40, "truecolor", True)))
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("down", "K", "enter", "tab", "tab", "t", "t", "u")
            await until(pilot, "covers")
            await pilot.press("Q")

    asyncio.run(session())
    (matte,) = load(pier / "suit_01.png.poise.json").correction.mattes
    assert (matte.inside.turn, matte.inside.exposure) == (10, pytest.approx(1 / 12))


def test_keys_that_wait_do_not_follow_to_another_shot(pier: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async def session() -> None:
        app = Poise(Session(scan([pier]).shots), keymap(), Look(Capability(120, 40, "truecolor", True)))
        async with app.run_test(size=(120, 40)) as pilot:
            await drawn(pilot)
            with monkeypatch.context() as slow:
                slow.setattr(app.screen._coordinator.pictures, "current", lambda: None)  # type: ignore[attr-defined]
                await pilot.press("K", "enter")
                await until(pilot, "waiting for the picture")
                await pilot.press("tab", ":", *"go 2", "enter")
            await until(pilot, "shots 2/2")
            await drawn(pilot)
            await pilot.press("Q")

    asyncio.run(session())
    assert not list(pier.glob("*.poise.json"))


def test_the_vectorscope_shows_what_comes_out_while_the_correction_inside_is_in_hand(pier: Path) -> None:
    keyed = sit(pier, ["down", "K", "enter"])
    inside = sit(pier, ["down", "K", "tab", "tab", *["="] * 3, *["t"] * 3])
    assert "vectorscope, keyed" in keyed
    assert "vectorscope, result" in inside
    was, now = ([line for line in shown if line.startswith("red ") and "%" in line] for shown in (keyed, inside))
    assert was != now


def test_a_shot_that_cannot_be_read_has_no_figures_of_another(pier: Path) -> None:
    (pier / "wreck_02.png").write_bytes(b"no picture")
    shown = sit(pier, ["down", "K", "enter", "]"])
    assert not any(line.startswith(("red ", "covers")) and "%" in line for line in shown)
    assert any("no PNG" in line or "not" in line or "can't" in line for line in shown)


def test_help_names_every_action_and_every_key_of_it() -> None:
    keys = keymap()
    said = ["".join(part for part, _ in line) for line in lines(keys)]
    for one in ACTIONS:
        shown = keys.shown(one.name)
        if one.group == "desk":
            assert any(shown in line.split() for line in said), one.name
        else:
            named = [line.removesuffix(one.does).strip() for line in said if line.endswith(one.does)]
            assert shown in named, one.name
