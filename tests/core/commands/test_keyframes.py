"""Commands on a sequence with keyframes: each frame has the correction that is interpolated for it."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main
from poise.errors import SidecarError
from poise.exchange.cdl import read as read_cdl
from poise.frames import scan
from poise.sidecar import load, save

pytestmark = pytest.mark.usefixtures("in_this_process")
NUMBERS = range(101, 107)
NAME = "ferry.####.png"


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def offset(amount: float) -> dict[str, Any]:
    return {"balance": {"offset": [amount] * 3}}


def keyed(folder: Path, *keyframes: tuple[int, float], **more: Any) -> Path:
    path = folder / f"{NAME}.poise.json"
    keys = [{"frame": frame, "correction": offset(amount), "crew": "night"} for frame, amount in keyframes]
    path.write_text(json.dumps({"poise": 1, "correction": offset(0.3), "keyframes": keys, **more}))
    return path


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    for number in NUMBERS:
        Image.new("RGB", (8, 4), (51, 51, 51)).save(folder / f"ferry.{number:04}.png")
    keyed(folder, (101, 0.0), (105, 0.2))
    return folder


def values(out: Path) -> list[int]:
    return [int(np.asarray(Image.open(out / f"ferry.{number:04}.png"))[0, 0, 0]) for number in NUMBERS]


def test_apply_measure_and_check_take_each_frame_by_its_own_correction(day: Path, tmp_path: Path) -> None:
    """Offsets 0, 5, 10, 15, 20, 20 % on code 51 of 255 (20 %), by hand."""
    out = tmp_path / "out"
    assert poise("apply", day, "--out", out, "--workers", 1).exit_code == 0
    wanted = [20, 25, 30, 35, 40, 40]
    assert values(out) == [round(255 * value / 100 + 1e-9) for value in wanted]
    (entry,) = json.loads(poise("measure", day, "--frames", "all", "--corrected", "--json", "--workers", 1).stdout)
    medians = [frame["readings"]["luma"]["median"] for frame in entry["over"]]
    assert medians == pytest.approx(wanted, abs=0.2)
    assert poise("check", day, "--frames", "all", "--out", out, "--limits", "full").exit_code == 0
    assert poise("show", day / "ferry.0105.png", "--corrected").exit_code == 0


def test_a_moved_keyframe_redoes_only_the_frames_between_its_neighbours(day: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    keyed(day, (101, 0.0), (103, 0.1), (105, 0.2), (106, 0.1))
    assert poise("apply", day, "--out", out).exit_code == 0
    keyed(day, (101, 0.0), (103, 0.15), (105, 0.2), (106, 0.1))
    again = json.loads(poise("apply", day, "--out", out, "--json").stdout)
    assert [Path(file).name for file in again["done"]] == [f"ferry.0{number}.png" for number in (102, 103, 104)]
    stale = json.loads(poise("check", day, "--out", out, "--json", "--limits", "full").stdout)
    assert not stale
    keyed(day, (101, 0.0), (103, 0.15), (105, 0.2), (106, 0.2))
    stale = json.loads(poise("check", day, "--out", out, "--json", "--limits", "full").stdout)
    assert [(fault["fault"], fault["value"]) for fault in stale] == [("stale", 1.0)]


def test_a_save_keeps_unknown_keys_of_a_keyframe_and_a_bad_order_is_refused_by_its_place(day: Path) -> None:
    path = keyed(day, (101, 0.0), (105, 0.2))
    (shot,) = scan([day]).shots
    save(shot.sidecar_path, load(path), load(path))
    assert [one["crew"] for one in json.loads(path.read_text())["keyframes"]] == ["night", "night"]
    with pytest.raises(SidecarError, match=r"keyframes\[1\]: frame numbers must rise"):
        load(keyed(day, (105, 0.0), (105, 0.2)))


def test_a_cdl_and_a_clf_for_each_keyframe(day: Path, tmp_path: Path) -> None:
    for standard, ending in (("cdl", "cc"), ("clf", "clf")):
        result = poise("export", day, "--to", standard, "--out", tmp_path / standard)
        assert result.exit_code == 0, result.stderr
        assert "it has 2 keyframes: one correction is exported for each of them" in result.stderr
        names = sorted(path.name for path in (tmp_path / standard).glob(f"*.{ending}"))
        assert names == [f"ferry.0101.{ending}", f"ferry.0105.{ending}"]
    (entry,) = read_cdl(tmp_path / "cdl" / "ferry.0105.cc")
    assert entry.cdl.offset == pytest.approx((0.2, 0.2, 0.2))


def test_copy_counts_frames_from_the_first_and_a_still_gets_the_judged_frame(day: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    for name in ("pier.png", *(f"quay.{number:04}.png" for number in range(1, 7))):
        Image.new("RGB", (8, 4), (51, 51, 51)).save(other / name)
    keyed(day, (101, 0.0), (105, 0.2), judged=103)
    assert poise("copy", day, other).exit_code == 0
    quay, pier = load(other / "quay.####.png.poise.json"), load(other / "pier.png.poise.json")
    assert [(one.frame, one.correction.balance.offset[0]) for one in quay.keyframes] == [(1, 0), (5, 0.2)]
    assert pier.correction.balance.offset[0] == pytest.approx(0.1)
    assert not pier.keyframes
    keyed(day, (103, 0.4))
    assert poise("copy", "--only", "balance", day, other).exit_code == 0
    quay = load(other / "quay.####.png.poise.json")
    assert [(one.frame, one.correction.balance.offset[0]) for one in quay.keyframes] == [(1, 0.4), (3, 0.4), (5, 0.4)]


def test_auto_sets_a_keyframe_and_keeps_those_that_are_there(day: Path) -> None:
    path = keyed(day, (101, 0.0), (105, 0.2), hand=False)
    result = poise("auto", day)
    assert "it has keyframes; replace them with --again" in result.stderr
    assert poise("auto", day, "--at", 103).exit_code == 0
    sidecar = load(path)
    assert [one.frame for one in sidecar.keyframes] == [101, 103, 105]
    assert sidecar.keyframes[1].correction.balance.offset != (0.1, 0.1, 0.1)
    assert "there is no frame 300" in poise("auto", day, "--at", 300).stderr
    result = poise("auto", day, "--again")
    assert "its keyframes are gone" in result.stdout
    assert load(path).keyframes == ()


def test_a_version_has_keyframes_and_reset_takes_them_away(day: Path, tmp_path: Path) -> None:
    cooler = {"correction": offset(0.3), "keyframes": [{"frame": 101, "correction": offset(0.4)}]}
    path = keyed(day, (101, 0.0), versions={"cooler": cooler})
    assert poise("apply", day, "--out", tmp_path / "out", "--version", "cooler").exit_code == 0
    assert values(tmp_path / "out") == [153] * 6
    assert poise("reset", day).exit_code == 2
    assert poise("reset", day, "--again").exit_code == 0
    assert load(path).keyframes == ()
    assert load(path).versions["cooler"].keyframes


def test_keyframes_of_a_still_are_not_used_and_that_is_said(day: Path) -> None:
    Image.new("RGB", (8, 4), (51, 51, 51)).save(day / "pier.png")
    sidecar = (day / f"{NAME}.poise.json").read_text()
    (day / "pier.png.poise.json").write_text(sidecar)
    result = poise("measure", day / "pier.png", "--corrected", "--json")
    assert "its sidecar has keyframes, but it is a still; they are not used" in result.stderr
    assert json.loads(result.stdout)[0]["readings"]["luma"]["median"] == pytest.approx(50, abs=0.2)
