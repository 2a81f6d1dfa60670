"""`poise measure --frames`: every frame of a sequence, and what its levels do over them."""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    """Eleven frames, each two codes of 255 lighter than the one before; frame 1006 another twenty."""
    for place in range(11):
        grey = 60 + 2 * place + 20 * (place == 5)
        Image.fromarray(np.full((4, 8, 3), grey, np.uint8)).save(tmp_path / f"pier.{1001 + place}.png")
    Image.new("RGB", (8, 4), (51, 51, 51)).save(tmp_path / "quay.png")
    return tmp_path


def test_every_frame_has_its_readings_and_the_run_its_drift(pier: Path) -> None:
    result = poise("measure", pier, "--frames", "--json")
    assert result.exit_code == 0, result.stderr
    sequence, still = json.loads(result.stdout)
    assert ("over" in still, sequence["every"], sequence["frame"]) == (False, 1, 1001)
    assert [one["frame"] for one in sequence["over"]] == list(range(1001, 1012))
    assert sequence["over"][3]["readings"]["luma"]["median"] == pytest.approx(100 * 66 / 255, abs=0.01)
    drift = sequence["drift"]
    assert drift["drift"]["luma"]["middle"] == pytest.approx(100 * 20 / 255, abs=0.01)
    assert [one["frame"] for one in drift["jumps"]] == [1006]
    assert drift["jumps"][0]["amount"] == pytest.approx(100 * 20 / 255, abs=0.01)


def test_the_table_has_a_row_a_frame_and_a_line_in_words(pier: Path) -> None:
    lines = poise("measure", pier, "--frames").stdout.splitlines()
    assert len(lines) == 1 + 11 + 1 + 1
    assert lines[-1].endswith(
        "pier.####.png  drifts +7.8 % in the middle over 11 frames (black +7.8, white +7.8); "
        "flickers 2.4 % rms, worst at 1006 (+7.8 %); one frame jumps: 1006 (+7.8 %)"
    )


@pytest.mark.thorough
def test_every_nth_frame_is_said_to_be_one(pier: Path) -> None:
    result = poise("measure", pier, "--frames", "5")
    assert "pier.####.png  one frame in 5: drifts" in result.stdout
    found = json.loads(poise("measure", pier, "--frames", "5", "--json").stdout)[0]
    assert ([one["frame"] for one in found["over"]], found["every"]) == ([1001, 1006, 1011], 5)
    alone = json.loads(poise("measure", pier, "--frames", "99", "--json").stdout)[0]
    assert (len(alone["over"]), alone["drift"]) == (1, None)
    assert "fewer than two frames: no drift to measure" in poise("measure", pier, "--frames", "99").stdout


def test_a_broken_frame_is_named_and_the_others_are_measured(pier: Path) -> None:
    (pier / "pier.1004.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    result = poise("measure", pier, "--frames", "all", "--json")
    assert result.exit_code == 1
    assert "pier.1004.png" in result.stderr
    sequence = json.loads(result.stdout)[0]
    assert (len(sequence["over"]), sequence["drift"]["frames"]) == (10, 10)


def test_corrected_drift_is_that_of_what_apply_writes(pier: Path) -> None:
    side = {"poise": 1, "correction": {"balance": {"slope": [2, 2, 2]}}}
    (pier / "pier.####.png.poise.json").write_text(json.dumps(side))
    found = json.loads(poise("measure", pier, "--frames", "--corrected", "--json").stdout)[0]
    assert found["drift"]["drift"]["green"]["middle"] == pytest.approx(200 * 20 / 255, abs=0.01)


@pytest.mark.parametrize("value", ["0", "some", "1.5"])
def test_another_value_is_wrong_usage(pier: Path, value: str) -> None:
    result = poise("measure", pier, "--frames", value)
    assert result.exit_code == 2
    assert "neither all nor a number" in result.stderr
