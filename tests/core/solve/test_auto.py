"""Auto on the demo reel, whose truth is known, and where it must hold back."""

import json
from pathlib import Path
from typing import Any

import colour
import numpy as np
import pytest
from skimage import data

from poise.colour.adaptation import light_matrix
from poise.colour.transfer import decode, encode
from poise.correction import CODED, LINEAR, NEUTRAL, Correction, Encoding
from poise.engine import compile_engine
from poise.frames import read
from poise.frames.frame import Depth
from poise.solve import auto
from poise.solve.illuminant import angle

REEL = Path(__file__).parents[3] / "demo_frames"
TRUTH = json.loads((REEL / "truth.json").read_text())["shots"]
WHITE = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]


def lab(rgb: np.ndarray) -> np.ndarray:
    return colour.XYZ_to_Lab(colour.sRGB_to_XYZ(np.clip(rgb, 0, 1)), WHITE)


def difference(a: np.ndarray, b: np.ndarray) -> float:
    return float(np.mean(colour.delta_E(lab(a), lab(b), method="CIE 2000")))


def greys(name: str, correction: Correction) -> np.ndarray:
    frame = read(REEL / name)
    encoding = LINEAR if frame.linear else CODED
    work = compile_engine(correction, encoding, frame.depth, output="work").apply(frame.colour) / frame.depth.maximum
    boxes = (grey["rectangle"] for grey in TRUTH[name]["greys"])
    return np.array([work[y : y + h, x : x + w].reshape(-1, 3).mean(axis=0) for x, y, w, h in boxes])


def test_the_reel_comes_under_3_and_no_shot_gets_worse() -> None:
    after = []
    for name, shot in TRUTH.items():
        frame = read(REEL / name)
        found = auto(frame.colour, LINEAR if frame.linear else CODED, frame.depth)
        truth = np.array([[grey["code"]] * 3 for grey in shot["greys"]])
        before = difference(greys(name, NEUTRAL), truth)
        after.append(difference(greys(name, found.correction), truth))
        assert after[-1] <= before + 1e-9, name
    assert np.mean(after) < 3


def test_the_fine_shot_moves_by_less_than_1() -> None:
    name = "breakwater_10.png"
    frame = read(REEL / name)
    found = auto(frame.colour, CODED, frame.depth)
    assert difference(greys(name, NEUTRAL), greys(name, found.correction)) < 1
    assert any("left alone" in note for note in found.notes)


@pytest.mark.parametrize("warmth", [-60, 40, 90])
def test_a_known_light_on_a_photograph_is_taken_off(warmth: float) -> None:
    plain = decode("sRGB", data.astronaut()[::2, ::2] / 255)
    lit = plain @ light_matrix(warmth, 6).T
    code = np.clip(encode("sRGB", lit / lit.max()), 0, 1)
    pixels = np.rint(code * 65535).astype(np.uint16)
    found = auto(pixels, CODED, Depth.U16)
    assert found.confidence is not None
    assert found.confidence > 0.5
    light = found.correction.light
    undone = light_matrix(light.warmth, light.magenta) @ light_matrix(warmth, 6) @ np.ones(3)
    assert angle(undone) < 2


def test_a_picture_of_one_colour_is_not_made_grey() -> None:
    noise = np.random.default_rng(2).normal(0, 1.5, (90, 160, 1))
    wall = np.clip(np.array([170, 60, 50]) + noise, 0, 255).astype(np.uint8)
    found = auto(wall, CODED, Depth.U8)
    after = compile_engine(found.correction, CODED, Depth.U8).apply(wall).reshape(-1, 3).mean(axis=0)
    assert after[0] > after[1] + 40
    assert any("one colour" in note for note in found.notes)


def test_grey_takes_levels_only() -> None:
    pixels = (data.camera()[::2, ::2, None] * 0.5 + 60).astype(np.uint8)
    found = auto(pixels, CODED, Depth.U8)
    assert found.correction.light == NEUTRAL.light
    assert found.correction.saturation == 1
    assert found.correction.levels.black > 0.1
    compile_engine(found.correction, CODED, Depth.U8).apply(pixels)


@pytest.mark.parametrize("value", [0, 255])
@pytest.mark.parametrize("size", [(1, 1), (1, 5000), (40, 30)])
def test_black_white_and_tiny_pictures_are_left_alone(value: int, size: tuple[int, int]) -> None:
    assert auto(np.full((*size, 3), value, np.uint8), CODED, Depth.U8).correction == NEUTRAL


def test_nan_pixels_are_left_out() -> None:
    pixels = decode("sRGB", data.astronaut() / 255).astype(np.float32)
    clean = auto(pixels, LINEAR, Depth.FLOAT).correction
    pixels[::7, ::3] = np.nan
    found = auto(pixels, LINEAR, Depth.FLOAT).correction
    assert found.levels.white == pytest.approx(clean.levels.white, abs=0.02)
    assert auto(np.full((4, 4, 3), np.nan, np.float32), LINEAR, Depth.FLOAT).correction == NEUTRAL


def test_never_clips_more_than_the_guard() -> None:
    for photograph in (data.astronaut(), data.coffee(), data.chelsea()):
        found = auto(photograph, CODED, Depth.U8).correction
        after = compile_engine(found, CODED, Depth.U8).apply(photograph)
        for channel in range(3):
            was = (photograph[..., channel] == 255).mean()
            assert (after[..., channel] == 255).mean() <= max(was, 0.005) + 0.01


def test_log_and_narrow_sources_are_solved_in_their_own_light() -> None:
    light = decode("sRGB", data.astronaut()[::2, ::2] / 255) @ light_matrix(50).T
    log = np.rint(np.clip(encode("ACEScct", light), 0, 1) * 1023).astype(np.uint16)
    found = auto(log, Encoding(source="ACEScct"), Depth.U10).correction
    assert found.light.warmth == pytest.approx(-45, abs=25)


@pytest.mark.parametrize("cast", [(1.0, 0.8, 0.6), (0.6, 0.8, 1.0), (1.0, 1.0, 1.0)])
@pytest.mark.parametrize("photograph", [data.astronaut, data.coffee, data.chelsea])
def test_what_it_crushes_or_clips_is_told_and_saturation_never_does(photograph: Any, cast: tuple[float, ...]) -> None:
    pixels = np.rint(photograph()[::2, ::2] * np.array(cast) * 0.8 + 15).astype(np.uint8)
    found = auto(pixels, CODED, Depth.U8)

    def lost(correction: Correction) -> float:
        after = compile_engine(correction, CODED, Depth.U8).apply(pixels)
        ends = ((after == end) & (pixels != end) for end in (0, 255))
        return float(max(end.any(axis=-1).mean() for end in ends))

    share, told = lost(found.correction), [note for note in found.notes if "% of the picture" in note]
    if abs(share - 0.02) > 0.001:  # auto looks at a proxy
        assert bool(told) is (share > 0.02)
    if "saturation left alone" in " ".join(found.notes):
        assert share <= 0.02
