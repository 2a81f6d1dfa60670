"""`poise measure --corrected`: what mattes cover and curves move, against numpy's and scipy's own numbers."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter

from poise.commands import main

BUOY = {"name": "buoy", "hue": {"low": 93, "high": 113, "soft": 5}, "chroma": {"low": 0.1, "high": 1, "soft": 0.02}}


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    """Grey, with a red buoy on 40 x 60 of its 200 x 300 pixels."""
    pixels = np.full((200, 300, 3), 128, np.uint8)
    pixels[80:120, 100:160] = (200, 20, 20)
    Image.fromarray(pixels).save(tmp_path / "quay_02.png")
    return tmp_path / "quay_02.png"


def decide(path: Path, **correction: Any) -> None:
    path.with_name(f"{path.name}.poise.json").write_text(json.dumps({"poise": 1, "correction": correction}))


def measured(path: Path, *options: str) -> dict[str, Any]:
    result = poise("measure", path, "--json", *options)
    assert result.exit_code == 0, result.stderr
    (entry,) = json.loads(result.stdout)
    assert isinstance(entry, dict)
    return entry


def test_mattes_are_told_in_order_with_what_they_cover(quay: Path) -> None:
    decide(quay, mattes=[BUOY, BUOY | {"invert": True, "on": False}, BUOY | {"name": "sea", "blur": 0.02}])
    first, second, third = measured(quay, "--corrected")["mattes"]
    assert first == {"name": "buoy", "on": True, "coverage": {"share": 4, "taken": 4, "spread": 0, "lost": 0}}
    assert second == {"name": "buoy", "on": False, "coverage": {"share": 96, "taken": 96, "spread": 0, "lost": 0}}
    red = np.zeros((200, 300))
    red[80:120, 100:160] = 1
    outside = gaussian_filter(red, 4, truncate=4)
    outside[80:120, 100:160] = 0
    assert (third["name"], third["coverage"]["share"]) == ("sea", pytest.approx(4, abs=0.01))
    assert third["coverage"]["spread"] == pytest.approx(100 * outside.sum() / 2400, abs=0.02)
    assert third["coverage"]["lost"] == pytest.approx(third["coverage"]["spread"], abs=0.02)


def test_curves_that_are_bent_are_told_with_how_far_they_move_a_value(quay: Path) -> None:
    red, master = [[0, 0], [0.3, 0.2], [0.7, 0.8], [1, 1]], [[0, 0.1], [1, 1]]
    decide(quay, curves={"red": red, "green": [[0, 0], [0.4, 0.4], [1, 1]], "master": master})
    curves = measured(quay, "--corrected")["curves"]
    assert list(curves) == ["red", "master"]
    assert curves["master"] == {"points": 2, "largest": 10}
    at = np.linspace(0, 1, 1_000_001)
    scipys = np.abs(PchipInterpolator(*zip(*red, strict=True))(at) - at).max()
    assert curves["red"] == {"points": 4, "largest": pytest.approx(100 * scipys, abs=1e-4)}


def test_without_them_an_entry_is_as_it_was(quay: Path) -> None:
    keys = {"file", "frames", "width", "height", "depth", "readings"}
    assert set(measured(quay, "--corrected")) == keys
    decide(quay, saturation=1.1, curves={"red": [[0, 0], [0.5, 0.5], [1, 1]]}, mattes=[])
    assert set(measured(quay, "--corrected")) == keys
    decide(quay, curves={"red": [[0, 0], [1, 0.9]]}, mattes=[BUOY])
    assert set(measured(quay)) == keys
    assert set(measured(quay, "--corrected")) == {*keys, "mattes", "curves"}


def test_below_the_table_stands_a_line_for_each_matte(quay: Path) -> None:
    decide(quay, mattes=[BUOY, BUOY | {"name": "two\nlines", "on": False, "invert": True}])
    result = poise("measure", quay, "--corrected")
    assert (result.exit_code, result.stderr) == (0, "")
    head, _, *mattes = result.stdout.splitlines()
    assert head.startswith("file")
    assert mattes == [
        f"{quay}  matte buoy  covers 4.0 %  spread 0.0 %",
        f"{quay}  matte two\\nlines  off  covers 96.0 %  spread 0.0 %",
    ]
    assert len(poise("measure", quay).stdout.splitlines()) == 2


def test_a_matte_that_spreads_far_is_noted_unless_it_is_off(quay: Path) -> None:
    decide(quay, mattes=[BUOY | {"blur": 0.1}, BUOY | {"name": "sail", "blur": 0.1, "on": False}])
    result = poise("measure", quay, "--corrected")
    assert result.exit_code == 0
    assert result.stderr == f"note: {quay}: the matte 'buoy' spreads far beyond what was keyed; lower its blur\n"
    assert len(json.loads(poise("measure", quay, "--corrected", "--json").stdout)[0]["mattes"]) == 2


def test_a_grey_picture_is_covered_by_luma_alone(tmp_path: Path) -> None:
    path = tmp_path / "fog.png"
    Image.fromarray(np.tile(np.arange(200, dtype=np.uint8), (10, 1))).save(path)
    fog = {"name": "fog", "luma": {"low": 150 / 255, "high": 1}, "inside": {"exposure": 0.5}}
    decide(path, mattes=[fog, fog | BUOY])
    fog, buoy = measured(path, "--corrected")["mattes"]
    assert fog["coverage"] == {"share": 25, "taken": 25, "spread": 0, "lost": 0}
    assert buoy["coverage"] == {"share": 0, "taken": 0, "spread": 0, "lost": 0}


def test_help_says_what_is_told_of_mattes_and_curves() -> None:
    said = " ".join(poise("measure", "--help").stdout.split())
    assert "a line for each matte" in said
    assert "--json also has the number of points of each curve" in said
