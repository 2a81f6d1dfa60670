"""`poise check`: each fault with its limit and source, exit codes, and what can't be read."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")

KEYS = {"file", "fault", "value", "limit", "unit", "source", "words", "caution"}


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def ramp(path: Path, low: int = 2, high: int = 250, size: tuple[int, int] = (40, 100)) -> Path:
    """Greys from one code to another."""
    grey = np.linspace(low, high, size[0] * size[1]).round().astype(np.uint8).reshape(size)
    Image.fromarray(np.stack([grey] * 3, axis=2)).save(path)
    return path


def decide(path: Path, state: str = "balanced", **correction: Any) -> None:
    decided = {"poise": 1, "correction": correction, "state": state}
    path.with_name(f"{path.name}.poise.json").write_text(json.dumps(decided))


def found(*args: object) -> tuple[int, list[dict[str, Any]]]:
    result = poise("check", "--json", *args)
    return result.exit_code, json.loads(result.stdout)


def named(*args: object) -> tuple[int, dict[str, set[str]]]:
    code, faults = found(*args)
    names: dict[str, set[str]] = {}
    for fault in faults:
        assert set(fault) == KEYS
        names.setdefault(Path(fault["file"]).name, set()).add(fault["fault"])
    return code, names


def test_every_kind_of_fault_is_told_and_the_rest_goes_on(tmp_path: Path) -> None:
    """By real processes: a good shot, levels, loss, a bad sidecar, no picture, a lone sidecar, a gap, another size."""
    for name in ("quay_01.png", "quay_02.png", "quay_03.png"):
        ramp(tmp_path / name)
    ramp(tmp_path / "quay_04.png", 60, 200)
    decide(ramp(tmp_path / "quay_05.png"), levels={"black": 0.2})
    ramp(tmp_path / "quay_06.png").with_name("quay_06.png.poise.json").write_text('{"poise": 1, "correction": 7}')
    (tmp_path / "quay_07.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    decide(ramp(tmp_path / "quay_08.png", 60, 200), state="held")
    ramp(tmp_path / "pier.1001.png", size=(40, 80))
    ramp(tmp_path / "pier.1003.png", size=(40, 80))
    (tmp_path / "gone.png.poise.json").write_text('{"poise": 1, "correction": {}}')
    result = poise("check", tmp_path)
    assert result.exit_code == 1
    assert "Traceback" not in result.stderr
    assert f"passed over {tmp_path}/quay_08.png: held" in result.stderr
    names: dict[str, set[str]] = {}
    for name, fault in re.findall(r"^/\S+/(\S+): ([a-z]+)", result.stdout, re.MULTILINE):
        names.setdefault(name, set()).add(fault)
    assert {name: faults - {"outlier"} for name, faults in names.items()} == {
        "quay_04.png": {"black", "white"},
        "quay_05.png": {"crushed"},
        "quay_06.png.poise.json": {"sidecar"},
        "quay_07.png": {"unreadable"},
        "pier.####.png": {"gap"},
        "gone.png.poise.json": {"alone"},
    }
    line = next(line for line in result.stdout.splitlines() if "quay_04.png: black" in line)
    assert line == f"{tmp_path}/quay_04.png: black 23.9 > 5 %"
    assert f"format: 1 shot: size 80 x 40, expected 100 x 40 (one reel, one size)\n    {tmp_path}/pier" in result.stdout
    assert "7 shots checked against baseline: " in result.stderr


def test_no_faults_is_0_and_nothing_to_check_2(tmp_path: Path) -> None:
    picture = ramp(tmp_path / "quay_01.png")
    clean = poise("check", picture)
    assert (clean.exit_code, clean.stdout) == (0, "")
    assert clean.stderr == "1 shot checked against baseline: no faults\n"
    decide(picture, state="skipped")
    held = poise("check", picture)
    assert (held.exit_code, held.stdout) == (2, "")
    assert held.stderr.endswith("nothing to check: every shot was passed over\n")
    (tmp_path / "empty").mkdir()
    for args in ((tmp_path / "empty",), (tmp_path / "no such",), (), (picture, "--limits", "legal")):
        result = poise("check", *args)
        assert (result.exit_code, result.stdout) == (2, ""), result.stderr


@pytest.mark.parametrize("command", [(), ("show",), ("check",)])
def test_limits_that_are_none_are_one_line_everywhere(command: tuple[str, ...], tmp_path: Path) -> None:
    ramp(tmp_path / "quay_01.png")
    result = poise(*command, tmp_path, "--limits", "legal")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith("poise: legal: no such set of limits and no such file; use baseline, ")
    assert len(result.stderr.splitlines()) == 1


def test_r_103_by_its_codes_in_8_bit(tmp_path: Path) -> None:
    """EBU R 103: 5..246 of 8 bits, and 1 % of the picture may lie outside."""
    pixels = np.full((100, 100, 3), 126, np.uint8)
    for share, expected in ((90, (0, {})), (110, (1, {"quay.png": {"outside"}}))):
        pixels.reshape(-1, 3)[:share, 2] = 247
        Image.fromarray(pixels).save(tmp_path / "quay.png")
        assert named(tmp_path, "--limits", "ebu-r103", "--range", "narrow") == expected


def test_ones_own_limits(tmp_path: Path) -> None:
    picture, own = ramp(tmp_path / "quay_01.png", 30, 250), tmp_path / "harbour.toml"
    own.write_text('black-over = 20\n[white-over]\nvalue = 90\nsource = "the harbour board"\ncaution = true\n')
    code, (fault,) = found(picture, "--limits", own)
    assert (code, fault["fault"], fault["limit"], fault["source"]) == (0, "white-over", 90, "the harbour board")
    assert poise("check", picture, "--limits", own).stderr.endswith("no faults, 1 caution\n")


def test_over_the_frames_of_a_sequence_the_worst_stands_for_all(tmp_path: Path) -> None:
    for number in range(6):
        ramp(tmp_path / f"pier.{1001 + number}.png", 2 + 12 * number, 250)
    assert found(tmp_path) == (0, [])
    code, faults = found(tmp_path, "--frames")
    levels, drift = faults
    assert (code, levels["fault"], Path(levels["file"]).name) == (1, "black-over", "pier.1006.png")
    assert levels["words"].endswith("(and 4 more frames; this is the worst)")
    assert (drift["fault"], drift["caution"], Path(drift["file"]).name) == ("drift", True, "pier.####.png")


def test_outputs_are_looked_at_where_they_are_found(tmp_path: Path) -> None:
    day = tmp_path / "day"
    day.mkdir()
    picture = day / "coffee.png"
    Image.fromarray(skimage.data.coffee()[:40, :60]).save(picture)
    decide(picture, saturation=0.9)
    assert poise("apply", day, "--out", day / "balanced").exit_code == 0
    assert "coffee.png" not in named(day)[1] or not named(day)[1]["coffee.png"] & {"stale", "missing", "damaged"}
    decide(picture, saturation=0.8)
    for more in ((), ("--out", day / "balanced")):
        code, names = named(day, *more)
        assert (code, "stale" in names["coffee.png"]) == (1, True)
    elsewhere = tmp_path / "elsewhere"
    mistyped = poise("check", day, "--out", elsewhere)
    assert (mistyped.exit_code, mistyped.stdout) == (2, "")
    assert "does not exist; see " in mistyped.stderr
    elsewhere.mkdir()
    assert "missing" in named(day, "--out", elsewhere)[1]["coffee.png"]


def test_what_several_shots_share_is_told_once_and_to_machines_each(tmp_path: Path) -> None:
    for name in ("quay_01.png", "quay_02.png", "quay_03.png"):
        ramp(tmp_path / name)
    for name in ("ferry_04.png", "ferry_05.png"):
        ramp(tmp_path / name, size=(20, 50))
    result = poise("check", tmp_path)
    names = f"{tmp_path}/ferry_04.png, {tmp_path}/ferry_05.png"
    do = "deliver one size, or check each size on its own"
    said = f"format: 2 shots: size 50 x 20, expected 100 x 40 (one reel, one size)\n    {names}\n    {do}\n"
    assert result.stdout.endswith(said)
    assert result.stdout.count("expected 100 x 40") == 1
    assert "size 2" in result.stderr
    assert [Path(one["file"]).name for one in found(tmp_path)[1] if one["fault"] == "size"] == [
        "ferry_04.png",
        "ferry_05.png",
    ]
