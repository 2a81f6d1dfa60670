"""`poise chart` end to end: a correction in the sidecar, a report, and what it refuses."""

import json
from pathlib import Path

import msgspec
import numpy as np
import pytest
import tifffile
from charted import picture
from click.testing import CliRunner, Result

from poise.colour.chart import published_light
from poise.colour.transfer import encode
from poise.commands import main
from poise.correction import NEUTRAL, Correction

pytestmark = pytest.mark.usefixtures("in_this_process")


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def shot(tmp_path: Path) -> tuple[Path, list[str]]:
    light, corners = picture("FL11", stops=-1, turn=5, size=1.2)
    path = tmp_path / "quay_02.tif"
    tifffile.imwrite(path, np.rint(np.clip(encode("sRGB", light), 0, 1) * 65535).astype(np.uint16))
    return path, [f"{x:.4f},{y:.4f}" for x, y in corners]


def published() -> tuple[np.ndarray, list[tuple[float, float]]]:
    """A chart drawn from its published values, 60 pixels a patch, and its corners."""
    values = published_light("ITU-R BT.709").reshape(4, 6, 3)
    light = np.full((360, 640, 3), 0.03)
    for row in range(4):
        for column in range(6):
            top, left = 40 + 70 * row, 110 + 70 * column
            light[top : top + 60, left : left + 60] = values[row, column]
    return light, [(110 / 640, 40 / 360), (520 / 640, 40 / 360), (520 / 640, 310 / 360), (110 / 640, 310 / 360)]


def decided(path: Path) -> dict[str, object]:
    sidecar: dict[str, object] = json.loads(path.with_name(path.name + ".poise.json").read_text())
    return sidecar


def test_corners_give_a_correction_that_no_starting_point_replaces(shot: tuple[Path, list[str]]) -> None:
    path, corners = shot
    assert poise("auto", path).exit_code == 0
    result = poise("chart", path, "--corners", *corners)
    assert result.exit_code == 0, result.stderr
    first, second = result.stdout.splitlines()
    assert first.startswith(f"{path}: exposure +1.0")
    assert second.startswith("  mean CIEDE2000 ")
    sidecar = decided(path)
    assert sidecar["hand"] is True
    correction = msgspec.convert(sidecar["correction"], Correction)
    assert correction == msgspec.structs.replace(NEUTRAL, light=correction.light)
    assert correction.light.warmth < -90
    assert "by hand" in poise("auto", path).stderr
    assert decided(path) == sidecar
    again = poise("chart", path, "--corners", *corners)
    assert again.exit_code == 2
    assert "replace it with --again" in again.stderr
    assert poise("chart", path, "--corners", *corners, "--again").exit_code == 0


def test_report_and_json_tell_of_every_patch(shot: tuple[Path, list[str]]) -> None:
    path, corners = shot
    told = poise("chart", path, "--corners", *corners, "--report", "--dry-run").stdout.splitlines()
    assert told[2].split() == ["patch", "before", "after"]
    assert len(told) == 3 + 24
    assert told[3].startswith("dark skin")
    result = json.loads(poise("chart", path, "--corners", *corners, "--json", "--dry-run").stdout)
    assert set(result) == {"file", "corners", "correction", "note", "mean", "patches", "written"}
    assert result["written"] is False
    assert len(result["patches"]) == 24
    assert set(result["patches"][0]) == {"name", "before", "after", "clipped"}
    assert result["mean"]["after"] < 3.5 < result["mean"]["before"]
    assert result["mean"]["after"] == pytest.approx(np.mean([patch["after"] for patch in result["patches"]]), abs=0.01)
    assert not path.with_name(path.name + ".poise.json").exists()


def test_without_corners_it_is_looked_for(shot: tuple[Path, list[str]]) -> None:
    path, corners = shot
    found = json.loads(poise("chart", path, "--json").stdout)
    given = [[float(number) for number in corner.split(",")] for corner in corners]
    np.testing.assert_allclose(found["corners"], given, atol=0.04)


@pytest.mark.thorough
def test_auto_takes_a_chart_where_there_is_one_if_asked(shot: tuple[Path, list[str]]) -> None:
    path, corners = shot
    other = path.with_name("quay_03.tif")
    light, _ = picture("FL11", stops=-1)
    pixels = np.rint(np.clip(encode("sRGB", light[:150, :300]), 0, 1) * 65535).astype(np.uint16)
    tifffile.imwrite(other, pixels)
    result = poise("auto", path, other, "--chart")
    assert result.exit_code == 0, result.stderr
    assert result.stdout.count("chart found: ") == 1
    given = poise("chart", path, "--corners", *corners, "--again", "--json", "--dry-run")
    light_given = json.loads(given.stdout)["correction"]["light"]
    correction = decided(path)["correction"]
    light = correction["light"]  # type: ignore[index]
    assert light.keys() == light_given.keys()
    for name in light:
        assert light[name] == pytest.approx(light_given[name], abs=1), name
    assert decided(path)["hand"] is True
    assert decided(other)["hand"] is False


def test_where_the_chart_comes_no_nearer_nothing_is_written_unless_again(tmp_path: Path) -> None:
    path, beside = tmp_path / "quay_04.tif", tmp_path / "quay_04.tif.poise.json"
    # the published values themselves (colour-science, ColorChecker 2005)
    light, corners = published()
    tifffile.imwrite(path, np.rint(np.clip(encode("sRGB", light), 0, 1) * 65535).astype(np.uint16))
    given = ["--corners", *(f"{x:.4f},{y:.4f}" for x, y in corners)]
    result = poise("chart", path, *given)
    assert result.exit_code == 0, result.stderr
    assert "no better than it is, mean CIEDE2000 0." in result.stdout
    assert not beside.exists()
    assert json.loads(poise("chart", path, *given, "--json").stdout)["written"] is False
    auto = poise("auto", path, "--chart")
    assert "chart found: " in auto.stdout
    assert "left alone" in auto.stdout
    assert not beside.exists()
    assert poise("chart", path, *given, "--again").exit_code == 0
    assert decided(path)["hand"] is True


def test_wrong_corners_are_told_in_a_line(shot: tuple[Path, list[str]], tmp_path: Path) -> None:
    path, corners = shot
    for bad in (["1.2,0.1", *corners[1:]], ["quay", *corners[1:]], ["nan,0", *corners[1:]]):
        result = poise("chart", path, "--corners", *bad)
        assert result.exit_code == 2
        assert result.stderr.startswith("poise: ")
        assert len(result.stderr.splitlines()) == 1
    moved = [f"{float(x) / 2:.4f},{float(y) / 2:.4f}" for x, y in (corner.split(",") for corner in corners)]
    result = poise("chart", path, "--corners", *moved)
    assert result.exit_code == 1
    assert "no chart between these corners" in result.stderr
    assert not path.with_name(path.name + ".poise.json").exists()
    assert poise("chart", tmp_path / "none.tif").exit_code == 2
    tifffile.imwrite(tmp_path / "quay_03.tif", np.zeros((20, 30, 3), np.uint16))
    several = poise("chart", tmp_path)
    assert several.exit_code == 2
    assert "must be one shot" in several.stderr
