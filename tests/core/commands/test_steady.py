"""`poise steady` on a small run of a photograph with gains that are known: what is saved, applied and said."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from click.testing import CliRunner, Result
from skimage import data

from poise.colour.transfer import decode, encode
from poise.commands import main
from poise.sidecar import load

pytestmark = pytest.mark.usefixtures("in_this_process")
COUNT = 16
GAINS = 1 + 0.04 * np.random.default_rng(2).normal(size=COUNT)
NAME = "ferry.####.tif"


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def frame(gain: float, of: np.ndarray) -> np.ndarray:
    return np.rint(65535 * encode("sRGB", np.clip(of * gain, 0, 1))).astype(np.uint16)


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    light = 0.5 * decode("sRGB", data.coffee()[100:172, 100:208] / 255.0)
    for number, gain in enumerate(GAINS, 101):
        tifffile.imwrite(folder / f"ferry.{number:04}.tif", frame(gain, light), photometric="rgb")
    return folder


def levels(folder: Path) -> np.ndarray:
    return np.array([decode("sRGB", tifffile.imread(path) / 65535).mean() for path in sorted(folder.glob("*.tif"))])


def decided(folder: Path, **keys: Any) -> None:
    (folder / f"{NAME}.poise.json").write_text(json.dumps({"poise": 1, **keys}))


def test_flicker_is_gone_from_what_apply_writes_and_both_figures_are_said(day: Path, tmp_path: Path) -> None:
    result = poise("steady", day)
    assert result.exit_code == 0, result.stderr
    assert "ITU-R BT.1702" in result.stderr
    assert "ITU-R BT.1702" in " ".join(poise("steady", "--help").stdout.split())
    before, after = (float(text.split()[-1]) for text in result.stdout.split(" % rms")[0].split(" -> "))
    assert before > 0.5
    assert after <= before / 5
    assert poise("apply", day, "--out", tmp_path / "out").exit_code == 0
    was, now = (np.std(levels(folder)) / levels(folder).mean() for folder in (day, tmp_path / "out"))
    assert was == pytest.approx(np.std(GAINS), rel=0.05)
    assert now <= was / 5
    steady = load(day / f"{NAME}.poise.json").steady
    assert steady is not None
    assert (steady.first, len(steady.exposure), steady.red) == (101, COUNT, ())
    entry = json.loads(poise("check", day, "--frames", "all", "--json", "--out", tmp_path / "out").stdout)
    assert not [fault for fault in entry if fault["fault"] in ("flicker", "stale", "damaged")]


def test_a_frame_that_is_added_later_has_no_value_and_that_is_said(day: Path) -> None:
    poise("steady", day)
    (day / "ferry.0101.tif").rename(day / f"ferry.{101 + COUNT:04}.tif")
    result = poise("measure", day, "--corrected")
    assert f"frame {101 + COUNT} has no steady value; run" in result.stderr
    (day / "ferry.0105.tif").unlink()
    poise("steady", day)
    assert load(day / f"{NAME}.poise.json").steady.exposure[3] is None


def test_strength_0_takes_it_away_and_a_correction_stays(day: Path) -> None:
    decided(day, correction={"saturation": 1.1}, note="fog", crew="night")
    assert poise("steady", day, "--what", "colour", "--strength", 0.5).exit_code == 0
    path = day / f"{NAME}.poise.json"
    half = load(path)
    assert (half.correction.saturation, half.note) == (1.1, "fog")
    assert len(half.steady.red) == len(half.steady.blue) == COUNT
    assert poise("steady", day, "--strength", 0).exit_code == 0
    assert load(path).steady is None
    assert json.loads(path.read_text())["crew"] == "night"
    poise("steady", day)
    assert poise("reset", day, "--again").exit_code == 0
    assert load(path).steady is None


def test_a_gain_never_clips_more_than_2_per_cent(day: Path) -> None:
    """A frame far too dark, where a third of what is right in its neighbours is near white: its gain is cut short."""
    light = (
        0.9 * np.ones((72, 108, 3)) * np.linspace(0.2, 1, 108)[:, None]
        + np.random.default_rng(0).random((72, 108, 1)) / 50
    )
    for number in range(101, 101 + COUNT):
        tifffile.imwrite(day / f"ferry.{number:04}.tif", frame(0.6 if number == 108 else 1, light), photometric="rgb")
    decided(day, correction={"light": {"exposure": 0.1}, "levels": {"white": 0.9}})
    result = poise("steady", day, "--over", 50)
    assert "frame 108: only" in result.stdout
    assert "of its gain, as more would crush or clip over 2%" in result.stdout


def test_stills_held_shots_and_short_runs_are_passed_over(day: Path) -> None:
    decided(day, state="held", note="fog")
    tifffile.imwrite(day / "pier.tif", np.zeros((4, 4, 3), np.uint8), photometric="rgb")
    for number in (1, 2):
        tifffile.imwrite(day / f"quay.{number:04}.tif", np.zeros((4, 4, 3), np.uint8), photometric="rgb")
    result = poise("steady", day)
    assert result.exit_code == 2
    for words in ("held; steady it with --again", "a still has no flicker", "it has fewer than three frames"):
        assert words in result.stderr
