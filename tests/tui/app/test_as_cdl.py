"""`:as cdl` by keys: auto and match then set slope, offset, power and saturation alone, and the status line says so."""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from sitting import SIZES, sit
from skimage import data

from poise.colour.transfer import decode, encode
from poise.correction import NEUTRAL, Balance, Correction, Levels, Light
from poise.sidecar import load

AS_CDL = [":", *"as", "space", *"cdl", "enter"]


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    """A cup of coffee (skimage.data), and the same in another light, a third darker and flat."""
    cup = data.coffee()[:200, :300]
    lit = encode("sRGB", decode("sRGB", cup / 255) * [0.5, 0.62, 0.9]) * 0.8 + 0.1
    Image.fromarray(cup).save(tmp_path / "cup_01.png")
    Image.fromarray(np.rint(lit * 255).astype(np.uint8)).save(tmp_path / "cup_02.png")
    return tmp_path


def correction(folder: Path) -> Correction:
    return load(folder / "cup_02.png.poise.json").correction


def only_ten(found: Correction) -> bool:
    return replace(found, balance=Balance(), saturation=1.0) == NEUTRAL


@pytest.mark.parametrize("size", SIZES)
def test_auto_follows_the_setting(pier: Path, size: tuple[int, int]) -> None:
    shown = sit(pier, ["]", *AS_CDL, "A", "wait:auto: "], size, then="saved")
    assert only_ten(correction(pier))
    assert correction(pier) != NEUTRAL
    assert any("as cdl" in line for line in shown)
    shown = sit(pier, ["]", *AS_CDL, ":", *"as", "space", *"all", "enter", "A", "wait:auto: "], size, then="saved")
    assert not only_ten(correction(pier))
    assert not any("as cdl" in line for line in shown)


@pytest.mark.thorough
def test_match_follows_the_setting(pier: Path) -> None:
    before = Correction(light=Light(warmth=20), levels=Levels(black=0.05))
    (pier / "cup_02.png.poise.json").write_text(
        '{"poise": 1, "correction": {"light": {"warmth": 20}, "levels": {"black": 0.05}}}'
    )
    assert correction(pier) == before
    shown = sit(pier, [*AS_CDL, "T", "]", "M", "wait:match: "], then="saved")
    assert only_ten(correction(pier))
    assert any("as cdl" in line for line in shown)


def test_another_word_is_refused(pier: Path) -> None:
    assert any("as what? cdl, or all" in line for line in sit(pier, [":", *"as", "space", *"lut", "enter"]))
