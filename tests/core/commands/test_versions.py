"""`--version NAME` of apply, copy and export: a kept state of the correction in place of the present one."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from click.testing import CliRunner, Result
from skimage import data

from poise.commands import main
from poise.exchange.cdl import read

pytestmark = pytest.mark.usefixtures("in_this_process")

PICTURE = np.ascontiguousarray(data.astronaut()[::16, ::16])
NOW = {"balance": {"offset": [0.11, 0.11, 0.11]}}
COOLER = {"correction": {"balance": {"offset": [-0.11, 0, 0.11]}}, "at": "2026-11-26T09:00:00Z"}


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def shot(path: Path, **keys: Any) -> Path:
    tifffile.imwrite(path, PICTURE, photometric="rgb")
    path.with_name(f"{path.name}.poise.json").write_text(json.dumps({"poise": 1, "correction": NOW, **keys}))
    return path


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    shot(folder / "ferry_01.tif", versions={"cooler": COOLER, "version 2": {}})
    shot(folder / "quay_02.tif", versions={"version 2": {}})
    shot(folder / "pier_03.tif")
    return folder


def test_apply_writes_the_version_and_passes_over_shots_without_it(day: Path, tmp_path: Path) -> None:
    """Checked by hand: offset -0.11 on red and 0.11 on blue, clamped, rounded to 8 bits (ASC CDL v1.2)."""
    result = poise("apply", day, "--out", tmp_path / "out", "--version", "cooler", "--workers", 1)
    assert result.exit_code == 0, result.stderr
    assert "quay_02.tif: it has no version 'cooler'; it has version 2" in result.stderr
    assert "pier_03.tif: it has no version 'cooler', nor any other" in result.stderr
    assert [path.name for path in (tmp_path / "out").glob("*.tif")] == ["ferry_01.tif"]
    wanted = np.floor(np.clip(PICTURE / 255 + [-0.11, 0, 0.11], 0, 1) * 255 + 0.5)
    assert np.array_equal(tifffile.imread(tmp_path / "out" / "ferry_01.tif"), wanted)
    plain = poise("apply", day, "--out", tmp_path / "out", "--workers", 1, "--json")
    assert len(json.loads(plain.stdout)["done"]) == 3  # that of the version is out of date as well
    wanted = np.floor(np.clip(PICTURE / 255 + 0.11, 0, 1) * 255 + 0.5)
    assert np.array_equal(tifffile.imread(tmp_path / "out" / "ferry_01.tif"), wanted)
    none = poise("apply", day, "--out", tmp_path / "none", "--version", "warmer", "--json")
    assert none.exit_code == 2
    assert "nothing to apply: every shot was passed over" in none.stderr


def test_copy_takes_a_version_of_the_first_shot(day: Path) -> None:
    result = poise("copy", day / "ferry_01.tif", day / "quay_02.tif", "--version", "cooler")
    assert (result.exit_code, result.stderr) == (0, "")
    target = json.loads((day / "quay_02.tif.poise.json").read_text())
    assert target["correction"]["balance"]["offset"] == [-0.11, 0, 0.11]
    assert list(target["versions"]) == ["version 2"]  # its own
    result = poise("copy", day / "ferry_01.tif", day / "quay_02.tif", "--version", "warmer")
    assert result.exit_code == 2
    assert "ferry_01.tif: it has no version 'warmer'; it has cooler, version 2" in result.stderr


def test_export_takes_the_version(day: Path, tmp_path: Path) -> None:
    result = poise("export", day, "--to", "cdl", "--form", "cc", "--out", tmp_path / "out", "--version", "cooler")
    assert result.exit_code == 0, result.stderr
    assert "quay_02.tif: it has no version 'cooler'" in result.stderr
    (written,) = (tmp_path / "out").rglob("*.cc")
    (one,) = read(written)
    assert one.cdl.offset == pytest.approx((-0.11, 0, 0.11))
