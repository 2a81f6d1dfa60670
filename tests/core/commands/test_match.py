"""`poise match`: shots come to a reference frame, what was decided stays, and faults are one line."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def beside(path: Path) -> Path:
    return path.with_name(f"{path.name}.poise.json")


def sidecar(path: Path) -> dict[str, Any]:
    found = json.loads(beside(path).read_text())
    assert isinstance(found, dict)
    return found


def decide(path: Path, **keys: Any) -> None:
    beside(path).write_text(json.dumps({"poise": 1, **keys}))


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """Three stills of one quay: as it is, flatter, and darker with a cast."""
    folder = tmp_path / "day"
    folder.mkdir()
    picture = skimage.data.coffee()[::4, ::4]
    darker = np.rint(255 * (picture / 255.0 * [0.7, 0.8, 0.6] + [0.02, 0.0, 0.04])).astype(np.uint8)
    for name, pixels in (("quay_01", picture), ("quay_02", picture // 2 + 40), ("quay_03", darker)):
        Image.fromarray(pixels).save(folder / f"{name}.png")
    return folder


def test_shots_come_to_the_frame_and_a_line_says_how_near(day: Path, tmp_path: Path) -> None:
    result = poise("match", day, "--to", day / "quay_01.png")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert [line.split(":")[0] for line in lines] == [str(day / "quay_02.png"), str(day / "quay_03.png")]
    assert all(" -> " in line and " %, slope, offset and power" in line for line in lines)
    assert result.stderr == f"passed over {day / 'quay_01.png'}: the reference is of this shot\n"
    assert not beside(day / "quay_01.png").exists()
    got = sidecar(day / "quay_03.png")
    assert got["hand"] is False
    np.testing.assert_allclose(got["correction"]["balance"]["slope"], [1 / 0.7, 1 / 0.8, 1 / 0.6], rtol=0.03)
    assert poise("apply", day, "--out", tmp_path / "out", "--workers", 1).exit_code == 0
    wanted = np.asarray(Image.open(day / "quay_01.png"), float)
    for name in ("quay_02.png", "quay_03.png"):
        made = np.asarray(Image.open(tmp_path / "out" / name), float)
        assert np.abs(made - wanted).mean() < 1.5
    before = beside(day / "quay_03.png").read_bytes()
    assert "left alone" in poise("match", day, "--to", day / "quay_01.png").stdout
    assert beside(day / "quay_03.png").read_bytes() == before


def test_json_has_the_stated_shape(day: Path) -> None:
    result = poise("match", day, "--to", day / "quay_01.png", "--strength", 0.5, "--json")
    assert result.exit_code == 0
    entries = json.loads(result.stdout)
    assert [set(entry) for entry in entries] == [{"file", "before", "after", "changed", "by_hand", "note"}] * 2
    assert [entry["file"] for entry in entries] == [str(day / "quay_02.png"), str(day / "quay_03.png")]
    for entry in entries:
        assert entry["after"] == pytest.approx(entry["before"] / 2, rel=0.1)
        assert (entry["changed"], entry["by_hand"]) == (True, False)


def test_strength_0_decides_nothing(day: Path) -> None:
    result = poise("match", day, "--to", day / "quay_01.png", "--strength", 0)
    assert result.exit_code == 0
    assert result.stdout.count("strength 0: left alone") == 2
    assert not list(day.glob("*.json"))


def test_the_frame_is_taken_under_its_own_correction(day: Path) -> None:
    decide(day / "quay_01.png", correction={"balance": {"slope": [0.5, 0.5, 0.5]}})
    assert poise("match", day / "quay_03.png", "--to", day / "quay_01.png").exit_code == 0
    slope = sidecar(day / "quay_03.png")["correction"]["balance"]["slope"]
    np.testing.assert_allclose(slope, [0.5 / 0.7, 0.5 / 0.8, 0.5 / 0.6], rtol=0.03)


def test_what_was_made_by_hand_is_where_it_starts_and_stays_marked_so(day: Path) -> None:
    made = {"tone": {"toe": 0.2}, "mattes": [{"name": "sail", "luma": {"low": 0.9}}], "saturation": 1.0}
    decide(day / "quay_02.png", correction=made, crew="night", note="fog", state="balanced")
    result = poise("match", day / "quay_02.png", "--to", day / "quay_01.png")
    assert result.exit_code == 0
    assert result.stdout.endswith("on top of the correction that was made by hand\n")
    got = sidecar(day / "quay_02.png")
    assert (got["hand"], got["crew"], got["note"], got["state"]) == (True, "night", "fog", "balanced")
    assert got["correction"]["tone"]["toe"] == 0.2
    assert got["correction"]["mattes"][0]["name"] == "sail"
    assert got["correction"]["balance"]["slope"] != [1, 1, 1]
    assert "made by hand" in poise("auto", day / "quay_02.png").stderr


@pytest.mark.parametrize("state", ["held", "skipped"])
def test_held_and_skipped_shots_are_passed_over_unless_again(day: Path, state: str) -> None:
    decide(day / "quay_02.png", state=state)
    before = beside(day / "quay_02.png").read_bytes()
    result = poise("match", day / "quay_02.png", "--to", day / "quay_01.png")
    assert result.exit_code == 2
    assert f"quay_02.png: {state}; match it with --again" in result.stderr
    assert beside(day / "quay_02.png").read_bytes() == before
    assert poise("match", day / "quay_02.png", "--to", day / "quay_01.png", "--again").exit_code == 0
    assert sidecar(day / "quay_02.png")["state"] == state


def test_a_frame_of_a_sequence_has_the_decisions_of_its_shot(day: Path) -> None:
    for number in (101, 102, 103):
        (day / f"ferry.{number:04d}.png").write_bytes((day / "quay_01.png").read_bytes())
    decide(day / "ferry.####.png", correction={"balance": {"slope": [0.5, 0.5, 0.5]}})
    frame = day / "ferry.0102.png"
    one = poise("match", day / "quay_03.png", "--to", frame)
    assert one.exit_code == 0
    alone = sidecar(day / "quay_03.png")["correction"]["balance"]
    np.testing.assert_allclose(alone["slope"], [0.5 / 0.7, 0.5 / 0.8, 0.5 / 0.6], rtol=0.03)
    beside(day / "quay_03.png").unlink()
    whole = poise("match", day, "--to", frame)
    assert "ferry.####.png: the reference is of this shot" in whole.stderr
    assert sidecar(day / "quay_03.png")["correction"]["balance"] == alone


def test_faults_of_the_frame_are_one_line_and_nothing_is_written(day: Path) -> None:
    (day.parent / "torn.png").write_bytes((day / "quay_01.png").read_bytes()[:400])
    Image.fromarray(skimage.data.coffee()[:8, :8]).save(day.parent / "odd.png")
    decide(day.parent / "odd.png", correction={"saturation": -1})
    for name, reason in (("none.png", "no such"), ("torn.png", "cut short"), ("odd.png", "correction.saturation")):
        result = poise("match", day, "--to", day.parent / name)
        assert (result.exit_code, result.stdout) == (2, "")
        assert len(result.stderr.splitlines()) == 1
        assert result.stderr.startswith(f"poise: {day.parent / name}")
        assert reason in result.stderr
    assert not list(day.glob("*.json"))


@pytest.mark.parametrize("strength", ["-0.1", "1.5", "nan", "much"])
def test_another_strength_is_wrong_usage(day: Path, strength: str) -> None:
    result = poise("match", day, "--to", day / "quay_01.png", "--strength", strength)
    assert (result.exit_code, len(result.stderr.splitlines())) == (2, 1)
    assert "--strength" in result.stderr


def test_one_bad_shot_never_stops_the_rest(day: Path) -> None:
    (day / "quay_02.png").write_bytes(b"")
    decide(day / "quay_04.png")
    Image.fromarray(skimage.data.coffee()[::4, ::4]).save(day / "quay_04.png")
    decide(day / "quay_04.png", encoding={"source": "sRGB", "delivery": "ITU-R BT.2100 PQ"})
    result = poise("match", day, "--to", day / "quay_01.png")
    assert result.exit_code == 1
    told = [line for line in result.stderr.splitlines() if line.startswith("poise: ")]
    assert "quay_02.png: the file is empty" in told[0]
    assert "quay_04.png: it is delivered in ITU-R BT.2100 PQ" in told[1]
    assert len(told) == 2
    assert result.stdout.startswith(str(day / "quay_03.png"))


def test_odd_pictures_are_told_and_left_alone(day: Path) -> None:
    import tifffile

    Image.new("RGB", (1, 1), (90, 90, 90)).save(day / "one.png")
    Image.new("RGB", (50, 40)).save(day / "night.png")
    tifffile.imwrite(day / "lost.tif", np.full((4, 4, 3), np.nan, np.float32), photometric="rgb")
    odd = [day / name for name in ("one.png", "night.png", "lost.tif")]
    result = poise("match", *odd, "--to", day / "quay_01.png")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.count("left alone") == 3
    assert [beside(path).exists() for path in odd] == [False] * 3
    entries = json.loads(poise("match", *odd, "--to", day / "quay_01.png", "--json").stdout)
    assert [entry["file"] for entry in entries if entry["before"] is None] == [str(day / "lost.tif")]


def test_a_folder_of_sidecars_is_used(day: Path, tmp_path: Path) -> None:
    kept = tmp_path / "decisions"
    kept.mkdir()
    (kept / "quay_01.png.poise.json").write_text('{"poise": 1, "correction": {"balance": {"slope": [0.5, 0.5, 0.5]}}}')
    result = poise("match", day, "--to", day / "quay_01.png", "--sidecars", kept)
    assert result.exit_code == 0
    slope = json.loads((kept / "quay_03.png.poise.json").read_text())["correction"]["balance"]["slope"]
    np.testing.assert_allclose(slope, [0.5 / 0.7, 0.5 / 0.8, 0.5 / 0.6], rtol=0.03)
    assert not list(day.glob("*.json"))
