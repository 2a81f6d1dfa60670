"""Matching and comparing by keys: what the sidecar holds afterwards, and what stands on small and large screens."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sitting import SIZES, sit
from skimage import data

from poise.correction import Balance, Correction
from poise.sidecar import load

WORN = Balance((0.8, 0.7, 0.6), (0.05, 0.04, 0.1), (1.1, 1.0, 0.9))
"""What the copy of a photograph went through."""


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    """A cup of coffee (skimage.data), and a copy of it under another slope, offset and power."""
    cup = data.coffee()[:200, :300]
    worn = np.clip(cup / 255 * WORN.slope + WORN.offset, 0, 1) ** WORN.power
    Image.fromarray(cup).save(tmp_path / "cup_01.png")
    Image.fromarray(np.rint(worn * 255).astype(np.uint8)).save(tmp_path / "cup_02.png")
    return tmp_path


def correction(folder: Path, name: str) -> Correction:
    return load(folder / f"{name}.poise.json").correction


@pytest.mark.parametrize("size", SIZES)
def test_a_shot_is_matched_to_the_reference(pier: Path, size: tuple[int, int]) -> None:
    shown = sit(pier, ["M", "T", "M", "down", "M"], size, then="saved")
    found = correction(pier, "cup_02.png").balance
    cup, worn = (np.asarray(Image.open(pier / name)) / 255 for name in ("cup_01.png", "cup_02.png"))
    back = np.clip(worn * found.slope + found.offset, 0, 1) ** found.power
    assert np.abs(back - cup).mean() < 1e-2
    assert not (pier / "cup_01.png.poise.json").exists()
    assert any("match: " in line and "slope, offset and power" in line for line in shown)
    assert any(" % from cup_01.png" in line for line in shown)
    # the message and the status line give one thing one name and one figure
    (told,) = {line.split("-> ")[1].split(",")[0] for line in shown if "match: mean parade difference " in line}
    assert any(f"mean parade difference {told} from cup_01.png" in line for line in shown)


def test_without_a_reference_there_is_nothing_to_match_to(pier: Path) -> None:
    assert any("no reference yet" in line for line in sit(pier, ["M"]))
    assert any("this shot is the reference" in line for line in sit(pier, ["T", "M"]))


def test_a_ghost_and_a_wipe_stand_on_the_instruments(pier: Path) -> None:
    titles = {
        ("T", "down"): "waveform, ghost cup_01.png",
        ("T", "down", "W"): "waveform, before | this",
        ("T", "down", "W", "W", "<", "<"): "waveform, cup_01.png | this",
        ("down", "W", "W", "W", "<"): "there is no wipe to move",
    }
    for keys, title in titles.items():
        shown = sit(pier, list(keys), (160, 45), then=title)
        assert any(title in line for line in shown), keys
    assert not any("ghost" in line for line in shown)


@pytest.mark.thorough
def test_a_reference_from_elsewhere_is_named_by_its_file(pier: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    still = tmp_path_factory.mktemp("other") / "still.png"
    Image.fromarray(data.coffee()[:200, :300]).save(still)
    typed = [":", *f"reference {still}", "enter"]
    shown = sit(pier, ["down", *typed, "M"], then="saved")
    assert any(" % from still.png" in line for line in shown)
    assert correction(pier, "cup_02.png").balance != Balance()
    assert not still.with_name("still.png.poise.json").exists()
