"""`poise auto` end to end: what it decided and how sure it is, as lines and as JSON."""

import json
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main
from poise.commands.auto import left_beyond
from poise.correction import CODED, NEUTRAL
from poise.delivery.limits import load
from poise.frames import Depth, Frame

pytestmark = pytest.mark.usefixtures("in_this_process")


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def day(tmp_path: Path) -> Path:
    warm = skimage.data.astronaut()[::2, ::2] * [1.0, 0.85, 0.62]
    Image.fromarray(warm.astype(np.uint8)).save(tmp_path / "quay_01.png")
    Image.fromarray(np.full((40, 60, 3), [170, 60, 50], np.uint8)).save(tmp_path / "hull_02.png")
    Image.fromarray(skimage.data.camera()[::2, ::2]).save(tmp_path / "fog_03.png")
    return tmp_path


def test_json_tells_what_was_decided_and_how_sure_it_is(day: Path) -> None:
    result = poise("auto", day, "--json")
    assert result.exit_code == 0, result.stderr
    fog, hull, quay = json.loads(result.stdout)
    assert [Path(one["file"]).name for one in (fog, hull, quay)] == ["fog_03.png", "hull_02.png", "quay_01.png"]
    assert set(quay) == {"file", "correction", "confidence", "light", "notes"}
    assert set(quay["light"]) == {"red", "blue", "off", "undone", "one_colour", "apart"}
    assert set(quay["light"]["apart"]) == {"gray-world", "max-RGB", "shades-of-gray", "grey-edge", "ceiling"}
    # the light that was put on: codes of 0.85 and 0.62 are light of 0.70 and 0.35 (power 2.2, near enough)
    assert quay["light"]["red"] == pytest.approx(1 / 0.70, abs=0.12)
    assert quay["light"]["blue"] == pytest.approx(0.35 / 0.70, abs=0.06)
    assert quay["confidence"] > 60
    assert quay["light"]["undone"] == 100
    assert (hull["light"]["one_colour"], hull["light"]["undone"]) == (True, 25)
    assert hull["confidence"] < 25
    assert (fog["confidence"], fog["light"]) == (None, None)
    saved = json.loads((day / "quay_01.png.poise.json").read_text())
    assert saved["correction"]["light"]["warmth"] == quay["correction"]["light"]["warmth"] < -40


@pytest.mark.thorough
def test_lines_tell_how_sure_it_is(day: Path) -> None:
    lines = poise("auto", day).stdout.splitlines()
    notes = [line for line in lines if line.startswith("  ") and "% sure" in line]
    assert len(notes) == 2
    assert "all one colour, so only 25 % of it is corrected" in notes[0]
    assert "degrees off neutral" in notes[1]


@pytest.mark.thorough
def test_together_shares_one_light_and_names_the_shot_that_disagrees(tmp_path: Path) -> None:
    cup = skimage.data.coffee()[::3, ::3]
    for number, (top, gains) in enumerate(
        [(0, (1, 0.8, 0.6)), (20, (1, 0.8, 0.6)), (40, (1, 0.8, 0.6)), (0, (1, 1, 1))]
    ):
        part = cup[top : top + 90] * np.array(gains) * 0.9
        Image.fromarray(np.rint(part).astype(np.uint8)).save(tmp_path / f"cup_{number}.png")
    result = poise("auto", "--together", tmp_path, "--workers", "1")
    assert result.exit_code == 0, result.stderr
    first, second, *_ = result.stdout.splitlines()
    assert first.startswith("light of 3 shots: ")
    assert "cup_3.png disagrees with the rest by " in second
    saved = [json.loads((tmp_path / f"cup_{number}.png.poise.json").read_text()) for number in range(4)]
    lights = [one["correction"].get("light", {}).get("warmth", 0) for one in saved]
    assert lights[0] == lights[1] == lights[2] < -20
    assert lights[3] > lights[0] + 15


def test_together_and_chart_exclude_each_other(tmp_path: Path) -> None:
    result = poise("auto", "--together", "--chart", tmp_path)
    assert result.exit_code == 2
    assert "exclude each other" in result.output


def test_what_a_starting_point_leaves_beyond_the_limits_is_said() -> None:
    """The spread of white is that of the 99.5th percentiles, as numpy has them."""
    ramp = np.linspace(0, 1, 4000).reshape(50, 80, 1) * (1, 1, 0.8)
    pixels = np.rint(255 * ramp).astype(np.uint8)
    high = np.percentile(pixels.reshape(-1, 3), 99.5, axis=0) / 2.55
    said = left_beyond(Frame(pixels, Depth.U8), NEUTRAL, CODED, load("baseline"))
    assert said == f"left beyond baseline: white spread {np.ptp(high):.3g} > 5 %"
    assert left_beyond(Frame(pixels[..., :1].repeat(3, -1), Depth.U8), NEUTRAL, CODED, load("baseline")) == ""
