"""Commands take a sequence by the frame that it is judged on."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main
from poise.frames import scan

GREYS = {1001: 51, 1002: 102, 1004: 153}  # 20, 40 and 60 % of 255


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    for number, grey in GREYS.items():
        Image.new("RGB", (8, 4), (grey, grey, grey)).save(tmp_path / f"pier.{number}.png")
    return tmp_path


def judged(folder: Path, number: object) -> None:
    (folder / "pier.####.png.poise.json").write_text(json.dumps({"poise": 1, "judged": number}))


def median(folder: Path) -> tuple[int, float, str]:
    result = poise("measure", folder, "--json")
    assert result.exit_code == 0, result.stderr
    (entry,) = json.loads(result.stdout)
    return entry["frame"], entry["readings"]["luma"]["median"], result.stderr


def test_measure_reads_the_judged_frame_else_the_first(pier: Path) -> None:
    assert median(pier)[:2] == (1001, pytest.approx(20, abs=0.01))
    judged(pier, 1004)
    assert median(pier)[:2] == (1004, pytest.approx(60, abs=0.01))
    judged(pier, None)
    assert median(pier)[:2] == (1001, pytest.approx(20, abs=0.01))


@pytest.mark.parametrize(("wanted", "taken"), [(1003, 1002), (7, 1001), (10**30, 1004)])
def test_a_frame_that_is_not_there_gives_way_to_the_nearest_and_is_told(pier: Path, wanted: int, taken: int) -> None:
    judged(pier, wanted)
    frame, _, said = median(pier)
    assert frame == taken
    assert f"pier.####.png: there is no frame {wanted} to judge it on; using the nearest, {taken}" in said


def test_a_still_with_a_frame_in_its_sidecar_is_told(tmp_path: Path) -> None:
    Image.new("RGB", (8, 4), (51, 51, 51)).save(tmp_path / "quay.png")
    (tmp_path / "quay.png.poise.json").write_text('{"poise": 1, "judged": 3}')
    result = poise("measure", tmp_path, "--json")
    assert "frame" not in json.loads(result.stdout)[0]
    assert "quay.png: its sidecar names frame 3, but it is a still" in result.stderr


def test_auto_solves_the_judged_frame_and_keeps_it(pier: Path) -> None:
    """Frame 1001 is damaged: what is judged on another does not care."""
    (pier / "pier.1001.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    assert "pier.1001.png" in poise("auto", pier).stderr
    judged(pier, 1002)
    result = poise("auto", pier)
    assert (result.exit_code, "pier.1001.png" in result.stderr) == (0, False)
    assert json.loads((pier / "pier.####.png.poise.json").read_text())["judged"] == 1002


def test_match_measures_the_judged_frame(pier: Path, tmp_path: Path) -> None:
    judged(pier, 1004)
    to = tmp_path / "reference" / "quay.png"
    to.parent.mkdir()
    Image.new("RGB", (8, 4), (153, 153, 153)).save(to)
    result = poise("match", *(pier.glob("pier*.png")), "--to", to, "--json")
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout)[0]["before"] == pytest.approx(0, abs=1e-4)


def test_show_prints_the_judged_frame_or_the_one_that_is_asked_for(pier: Path) -> None:
    judged(pier, 1004)
    assert poise("show", pier).stdout.splitlines()[0].startswith("pier.1004.png")
    assert poise("show", pier, "--frame", 1002).stdout.splitlines()[0].startswith("pier.1002.png")


def test_five_thousand_frames_are_one_shot_with_its_frame_found(tmp_path: Path) -> None:
    for number in range(1, 5001):
        (tmp_path / f"tide.{number:04}.png").touch()
    (shot,) = scan([tmp_path]).shots
    assert shot.frame_range == (1, 5000)
    assert (shot.nearest(4321), shot.nearest(9999), shot.nearest(None)) == (4320, 4999, 0)
