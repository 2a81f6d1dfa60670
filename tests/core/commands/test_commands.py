"""The commands end to end: data on stdout in the stated shapes, decisions in sidecars, exit codes."""

import json
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")

CHANNEL = {"black", "median", "white", "crushed", "clipped"}


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    picture = Image.fromarray(skimage.data.astronaut())
    picture.point(lambda v: 40 + v // 2).save(folder / "flat.png")
    picture.resize((64, 64)).save(folder / "other.png")
    return folder


def sidecar(path: Path) -> dict[str, object]:
    found: dict[str, object] = json.loads(path.with_name(path.name + ".poise.json").read_text())
    return found


def test_measure_prints_the_stated_shape(day: Path) -> None:
    result = poise("measure", day / "flat.png", "--json")
    assert result.exit_code == 0
    (entry,) = json.loads(result.stdout)
    readings = entry.pop("readings")
    expected = {"file": str(day / "flat.png"), "frames": 1, "width": 512, "height": 512, "depth": "8"}
    assert entry == expected
    assert set(readings) == {"luma", "red", "green", "blue", "spread", "cast", "saturation", "outside"}
    assert all(set(readings[name]) == CHANNEL for name in ("luma", "red", "green", "blue"))
    assert set(readings["cast"]) == {"hue", "angle", "amount"}
    # the picture was squeezed to codes 40..167 of 255
    assert readings["red"]["black"] == pytest.approx(100 * 40 / 255, abs=0.5)
    assert readings["red"]["white"] == pytest.approx(100 * 167 / 255, abs=0.5)


def test_auto_apply_reset(day: Path, tmp_path: Path) -> None:
    assert poise("auto", day).exit_code == 0
    assert sidecar(day / "flat.png")["hand"] is False
    (before,) = json.loads(poise("measure", day / "flat.png", "--json").stdout)
    (seen,) = json.loads(poise("measure", day / "flat.png", "--json", "--corrected").stdout)
    assert seen["readings"]["luma"]["black"] < before["readings"]["luma"]["black"] - 10
    applied = poise("apply", day, "--out", tmp_path / "out", "--json", "--workers", 1)
    assert applied.exit_code == 0
    told = json.loads(applied.stdout)
    assert set(told) == {"out", "done", "unchanged", "passed_over", "failed", "seconds"}
    (written,) = json.loads(poise("measure", tmp_path / "out" / "flat.png", "--json").stdout)
    assert written["readings"]["luma"] == pytest.approx(seen["readings"]["luma"], abs=0.5)
    assert poise("reset", day).exit_code == 0
    (back,) = json.loads(poise("measure", day / "flat.png", "--json", "--corrected").stdout)
    assert back["readings"] == before["readings"]


def test_auto_leaves_hand_made_corrections(day: Path) -> None:
    path = day / "flat.png.poise.json"
    path.write_text('{"poise": 1, "correction": {"saturation": 1.5}, "crew": "night"}')
    before = path.read_bytes()
    result = poise("auto", day)
    assert result.exit_code == 0
    assert "made by hand" in result.stderr
    assert path.read_bytes() == before
    assert poise("auto", day / "flat.png").exit_code == 2
    assert poise("auto", day / "flat.png", "--again").exit_code == 0
    assert sidecar(day / "flat.png")["crew"] == "night"
    assert sidecar(day / "flat.png")["correction"]["saturation"] != 1.5  # type: ignore[index]


def test_reset_leaves_what_was_made_by_hand_held_or_skipped(day: Path) -> None:
    by_hand = '{"poise": 1, "correction": {"saturation": 1.5}%s}'
    path = day / "flat.png.poise.json"
    for more, reason in (
        ("", "made by hand"),
        (', "state": "held", "hand": false', "held"),
        (', "state": "skipped"', "skipped"),
    ):
        path.write_text(by_hand % more)
        before = path.read_bytes()
        result = poise("reset", path.with_name("flat.png"))
        assert (result.exit_code, path.read_bytes()) == (2, before)
        assert f"{reason}; replace it with --again" in result.stderr
    assert poise("reset", "--again", day / "flat.png").exit_code == 0
    assert sidecar(day / "flat.png")["correction"]["saturation"] == 1  # type: ignore[index]
    assert sidecar(day / "flat.png")["state"] == "new"


def test_auto_says_that_mattes_and_curves_are_gone(day: Path) -> None:
    path = day / "flat.png.poise.json"
    path.write_text('{"poise": 1, "correction": {"mattes": [{"name": "buoy", "inside": {"turn": 20}}]}}')
    result = poise("auto", day / "flat.png", "--again")
    assert result.exit_code == 0
    assert "mattes and curves that were there are gone" in result.stdout
    assert sidecar(day / "flat.png")["correction"]["mattes"] == []  # type: ignore[index]


def test_copy_takes_only_the_parts_named(day: Path) -> None:
    decided = {"poise": 1, "correction": {"saturation": 1.5, "light": {"warmth": 20}}}
    (day / "flat.png.poise.json").write_text(json.dumps(decided))
    assert poise("copy", day / "flat.png", day, "--only", "light").exit_code == 0
    got = sidecar(day / "other.png")["correction"]
    assert (got["light"]["warmth"], got["saturation"]) == (20, 1)  # type: ignore[index]
    assert poise("copy", day / "flat.png", day / "other.png", "--only", "warmth").exit_code == 2
    assert poise("copy", day / "flat.png", day / "flat.png").exit_code == 2


def test_copied_mattes_are_applied(day: Path, tmp_path: Path) -> None:
    matte = {"name": "sail", "luma": {"low": 0.5, "high": 1, "soft": 0.1}, "inside": {"exposure": 0.5}}
    decided = {"poise": 1, "correction": {"saturation": 1.5, "mattes": [matte]}}
    (day / "flat.png.poise.json").write_text(json.dumps(decided))
    assert poise("copy", day / "flat.png", day / "other.png", "--only", "mattes").exit_code == 0
    got = sidecar(day / "other.png")["correction"]
    assert got["saturation"] == 1  # type: ignore[index]
    assert poise("apply", day / "other.png", "--out", tmp_path / "out", "--workers", 1).exit_code == 0
    before, after = (np.asarray(Image.open(folder / "other.png"), float) for folder in (day, tmp_path / "out"))
    luma = before @ [0.2126, 0.7152, 0.0722] / 255
    assert np.array_equal(after[luma < 0.39], before[luma < 0.39])
    lit = (luma > 0.51) & (before.max(axis=-1) < 200)
    light = ((before[lit] / 255 + 0.055) / 1.055) ** 2.4 * 2**0.5  # IEC 61966-2-1
    np.testing.assert_allclose(after[lit], 255 * (1.055 * light ** (1 / 2.4) - 0.055), atol=0.51)
    (entry,) = json.loads(poise("measure", day / "other.png", "--corrected", "--json").stdout)
    (written,) = json.loads(poise("measure", tmp_path / "out" / "other.png", "--json").stdout)
    assert entry["readings"]["luma"] == written["readings"]["luma"]


def test_a_matte_on_a_greyscale_picture_is_refused_by_name(tmp_path: Path) -> None:
    Image.fromarray(skimage.data.camera()).resize((32, 32)).save(tmp_path / "fog.png")
    decided = {"poise": 1, "correction": {"mattes": [{"name": "buoy", "inside": {"turn": 30}}]}}
    (tmp_path / "fog.png.poise.json").write_text(json.dumps(decided))
    result = poise("apply", tmp_path, "--out", tmp_path / "out", "--workers", 1)
    assert result.exit_code == 1
    assert "fog.png: a greyscale picture takes no turn" in result.stderr
    assert "'buoy'" in result.stderr


def test_apply_passes_over_and_takes_all(day: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert poise("apply", day, "--out", out).exit_code == 2
    dry = poise("apply", day, "--out", out, "--all", "--dry-run")
    assert dry.stdout.splitlines()[0] == f"{day / 'flat.png'} -> {out / 'flat.png'}"
    assert not out.exists()
    assert poise("apply", day, "--out", out, "--all", "--workers", 1).exit_code == 0
    assert (out / "flat.png").read_bytes() == (day / "flat.png").read_bytes()


def test_demo_brings_known_greys_close_and_ends_well(tmp_path: Path) -> None:
    result = poise("demo", tmp_path / "reel")
    assert result.exit_code == 0
    *rows, last = result.stdout.splitlines()
    assert float(last.split()[-2]) < 3  # mean CIEDE2000, the bound
    assert sum(" before " in row for row in rows) == 13
    assert rows[0].startswith("ferry_night.####.png: flicker ")
    assert rows[0].endswith(" % rms over 5 frames")
    clip = next(place for place, row in enumerate(rows) if row.startswith("pilot_boat_12.mov"))
    before, after = (float(row.split()[-1]) for row in rows[clip : clip + 2])
    assert after < before / 2
    assert (tmp_path / "reel/balanced/ferry_night.0105.png").is_file()
    assert poise("measure", tmp_path / "reel").stdout.count("ferry_night") == 1  # outputs are passed over
