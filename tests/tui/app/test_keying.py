"""A colour keyed and turned by keys alone in a real terminal, and what is written for it at full resolution."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile
from skimage import data
from terminals import Tmux, tmux_or_skip
from until import until

from poise.chain import matte as chain
from poise.sidecar import load

APP = [sys.executable, "-c", "from poise.commands import main; main()"]
CODES = 65535
LUMA = np.array([0.2126, 0.7152, 0.0722])
"""ITU-R BT.709-6, item 3.2."""


def ycc(rgb: np.ndarray) -> np.ndarray:
    """Y', and C'B, C'R by ITU-R BT.709-6, items 3.2 and 3.3."""
    luma = rgb @ LUMA
    return np.stack([luma, (rgb[..., 2] - luma) / 1.8556, (rgb[..., 0] - luma) / 1.5748], axis=-1)


@pytest.fixture
def suit(tmp_path: Path) -> Path:
    """NASA's portrait of Eileen Collins (skimage.data), whose suit is orange, as 16 bits, twice as large."""
    folder = tmp_path / "pier"
    folder.mkdir()
    picture = np.repeat(np.repeat(data.astronaut(), 2, axis=0), 2, axis=1).astype(np.uint16) * 257
    tifffile.imwrite(folder / "suit_01.tif", picture, photometric="rgb")
    return folder


@pytest.mark.parametrize(("columns", "rows"), [pytest.param(120, 40, marks=pytest.mark.thorough), (80, 24)])
def test_a_suit_is_keyed_and_turned_by_thirty_degrees(suit: Path, columns: int, rows: int) -> None:
    tmux_or_skip()
    with Tmux([*APP, str(suit)], columns, rows) as tmux:
        tmux.wait_for("suit_01")
        tmux.keys("K")
        tmux.wait_for("key colour")
        tmux.keys("=", "=", *["Left"] * 8, *["Down"] * 5, "Enter")
        tmux.wait_for("mattes 1/1")
        tmux.keys("Left", "Enter", "Down", "Enter")
        tmux.keys("Tab", "Tab", "-", "-", *["t"] * 6)
        tmux.wait_for("inside 3/3")

        def measured() -> str:
            shown = tmux.capture()
            return shown if "covers" in shown and "covers ~" not in shown else ""

        text = until(measured, tmux.capture)
        tmux.keys("Q")
        tmux.wait_end()
    told = float(next(line for line in text.splitlines() if line.startswith("covers")).split()[1])

    file = suit / "suit_01.tif"
    matte = load(suit / "suit_01.tif.poise.json").correction.mattes[0]
    assert (matte.inside.turn, matte.inside.saturation, matte.inside.exposure) == (30, 1, 0)
    subprocess.run([*APP, "apply", str(suit), "--out", str(suit / "out")], check=True, capture_output=True)
    before, after = tifffile.imread(file), tifffile.imread(suit / "out" / "suit_01.tif")
    assert after.dtype == np.uint16
    mask = chain.mask(before / CODES, matte)
    assert 5 < 100 * mask.mean() < 40
    assert told == pytest.approx(100 * mask.mean(), abs=1)
    assert np.array_equal(after[mask == 0], before[mask == 0])

    # where the matte is whole, and the turned colour stays inside the cube, its hue is 30 degrees on at the same luma
    whole = (mask == 1) & (after > 0).all(axis=-1) & (after < CODES).all(axis=-1)
    assert whole.mean() > 0.01
    was, now = ycc(before[whole] / CODES), ycc(after[whole] / CODES)
    turned = np.degrees(np.angle((now[:, 1] + 1j * now[:, 2]) / (was[:, 1] + 1j * was[:, 2])))
    assert turned == pytest.approx(30, abs=0.05)
    assert now[:, 0] == pytest.approx(was[:, 0], abs=2 / CODES)
    assert json.loads((suit / "suit_01.tif.poise.json").read_text())["correction"]["mattes"][0]["name"] == "matte 1"
