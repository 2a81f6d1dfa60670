"""`poise export --to cdl`: which shots, which files, and what is told."""

import json
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from click.testing import CliRunner, Result
from skimage import data

from poise.commands import main
from poise.exchange.cdl import read

PICTURE = np.ascontiguousarray(data.astronaut()[::16, ::16]).astype(np.uint16) * 257
BALANCE = {"balance": {"slope": [1.1, 1, 0.9], "offset": [0.02, -0.03, 0.05], "power": [0.9, 1, 1.2]}}
LIGHT = {"light": {"exposure": 0.5}}


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def shot(path: Path, correction: dict[str, Any] | None, picture: np.ndarray = PICTURE, **keys: Any) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    tifffile.imwrite(path, picture, photometric="minisblack" if picture.ndim == 2 else "rgb")
    if correction is not None:
        sidecar = path.with_name(f"{path.name}.poise.json")
        sidecar.write_text(json.dumps({"poise": 1, "correction": correction, **keys}))
    return path


def files(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def day(tmp_path: Path) -> Path:
    day = tmp_path / "day"
    shot(day / "quay_01.tif", BALANCE | {"saturation": 1.25})
    shot(day / "quay_02.tif", BALANCE)
    shot(day / "ferry_01.tif", BALANCE, state="held", note="fog")
    shot(day / "ferry_02.tif", BALANCE, state="skipped")
    shot(day / "mole.tif", None)
    return day


def test_what_is_written_and_what_is_told(day: Path, tmp_path: Path) -> None:
    hand = tmp_path / "hand"
    shot(day / "quay_02.tif", LIGHT)
    result = poise("export", day, "--to", "cdl", "--out", hand)
    assert result.exit_code == 0, result.stderr
    assert files(hand) == {"quay_01.cc", "quay_02.cc", "day.ccc", "day.cdl"}
    exact, near = result.stdout.splitlines()
    assert exact == f"{day}/quay_01.tif: quay_01, exact: balance, levels and saturation"
    assert near.startswith(f"{day}/quay_02.tif: quay_02, nearest, since a CDL can't represent this: light; off by ")
    assert near.endswith(" at worst, of 65535, on quay_02.tif")
    assert result.stderr.splitlines() == [
        f"passed over {day}/ferry_01.tif: held: fog",
        f"passed over {day}/ferry_02.tif: skipped",
        f"passed over {day}/mole.tif: no sidecar; run poise auto, or include it as neutral with --all",
        f"4 files written to {hand}",
    ]
    (one,) = read(hand / "quay_01.cc")
    assert (one.id, one.cdl.slope, one.cdl.saturation) == ("quay_01", (1.1, 1.0, 0.9), 1.25)
    assert one.descriptions == (
        "poise 0.1.0",
        "clamped to 0..1 before power and at the end",
        "exact: balance, levels and saturation",
    )
    assert [entry.id for entry in read(hand / "day.ccc")] == ["quay_01", "quay_02"]
    assert [entry.media for entry in read(hand / "day.cdl")] == [("quay_01.tif",), ("quay_02.tif",)]


def test_strict_refuses_and_names_the_parts(day: Path, tmp_path: Path) -> None:
    shot(day / "quay_02.tif", LIGHT | {"tone": {"toe": 0.3}})
    result = poise("export", day, "--to", "cdl", "--out", tmp_path / "hand", "--strict")
    assert result.exit_code == 1
    assert f"poise: {day}/quay_02.tif: a CDL can't represent this: light, tone; without --strict" in result.stderr
    assert files(tmp_path / "hand") == {"quay_01.cc", "day.ccc", "day.cdl"}
    assert len(read(tmp_path / "hand" / "day.ccc")) == 1


def test_a_second_run_writes_nothing_and_a_shorter_reel_says_so(day: Path, tmp_path: Path) -> None:
    hand, again = tmp_path / "hand", ["export", day, "--to", "cdl", "--out", tmp_path / "hand"]
    poise(*again)
    before = {name: (hand / name).stat().st_mtime_ns for name in files(hand)}
    assert "0 files written" in (result := poise(*again)).stderr
    assert "4 unchanged" in result.stderr
    assert {name: (hand / name).stat().st_mtime_ns for name in files(hand)} == before
    shot(day / "quay_02.tif", BALANCE, state="held")
    result = poise(*again)
    assert result.exit_code == 0
    assert f"note: {hand}/day.ccc: no longer in it: quay_02" in result.stderr
    assert [entry.id for entry in read(hand / "day.ccc")] == ["quay_01"]


def test_what_someone_changed_stays(day: Path, tmp_path: Path) -> None:
    hand, again = tmp_path / "hand", ["export", day, "--to", "cdl", "--out", tmp_path / "hand"]
    poise(*again)
    changed = (hand / "quay_01.cc").read_bytes().replace(b"1.25", b"1.5")
    (hand / "quay_01.cc").write_bytes(changed)
    result = poise(*again)
    assert result.exit_code == 1
    assert f"poise: {hand}/quay_01.cc: it exists, and is not as poise wrote it" in result.stderr
    assert (hand / "quay_01.cc").read_bytes() == changed
    assert poise(*again, "--again").exit_code == 0
    assert read(hand / "quay_01.cc")[0].cdl.saturation == 1.25


def test_forms_all_and_dry_run(day: Path, tmp_path: Path) -> None:
    for form, written in (("cc", {"quay_01.cc", "quay_02.cc", "mole.cc"}), ("ccc", {"day.ccc"}), ("cdl", {"day.cdl"})):
        hand = tmp_path / form
        result = poise("export", day, "--to", "cdl", "--out", hand, "--form", form, "--all", "--dry-run")
        assert result.exit_code == 0
        assert f"{len(written)} file" in result.stderr
        assert "to be written" in result.stderr
        assert not hand.exists()
        poise("export", day, "--to", "cdl", "--out", hand, "--form", form, "--all")
        assert files(hand) == written


def test_names_that_stand_twice_get_their_folders_or_endings(tmp_path: Path) -> None:
    day, hand = tmp_path / "day", tmp_path / "hand"
    for name in ("a/quay.tif", "b/quay.tif", "b/ferry.tif", "b/ferry.tiff", "reel 2/s.0001.tif", "reel 2/s.0002.tif"):
        shot(day / name, BALANCE)
    (day / "reel 2" / "s.####.tif.poise.json").write_text(json.dumps({"poise": 1, "correction": LIGHT}))
    result = poise("export", day, "--to", "cdl", "--out", hand, "--json")
    told = json.loads(result.stdout)
    assert [one["id"] for one in told["shots"]] == ["a.quay", "b.ferry.tif", "b.ferry.tiff", "b.quay", "s"]
    cc = {"a/quay.cc", "b/quay.cc", "b/ferry.tif.cc", "b/ferry.tiff.cc", "reel 2/s.cc"}
    assert files(hand) == cc | {"day.ccc", "day.cdl"}
    assert read(hand / "day.cdl")[-1].media == ("reel%202/s.%23%23%23%23.tif",)
    assert "on s.0001.tif" in read(hand / "reel 2" / "s.cc")[0].descriptions[-1]


def test_one_place_of_two_folders_is_refused(tmp_path: Path) -> None:
    one, two = (shot(tmp_path / name / "quay.tif", BALANCE) for name in ("monday", "tuesday"))
    result = poise("export", one.parent, two.parent, "--to", "cdl", "--out", tmp_path / "hand")
    assert result.exit_code == 1
    assert f"poise: {two}: it has the same path below its folder as {one}; export them separately" in result.stderr
    assert files(tmp_path / "hand") == {"quay.cc", "monday.ccc", "monday.cdl"}


def test_what_apply_refuses_is_not_handed_over(tmp_path: Path) -> None:
    grey = shot(tmp_path / "day" / "grey.tif", BALANCE, PICTURE[..., 0])
    real = shot(
        tmp_path / "day" / "real.tif", {"saturation": 1.1}, PICTURE.astype(np.float32), encoding={"range": "narrow"}
    )
    torn = shot(tmp_path / "day" / "torn.tif", LIGHT)
    torn.write_bytes(torn.read_bytes()[:2000])
    result = poise("export", tmp_path / "day", "--to", "cdl", "--out", tmp_path / "hand")
    assert result.exit_code == 1
    for path, reason in ((grey, "a greyscale picture takes no balance"), (real, "narrow range"), (torn, "")):
        assert f"poise: {path}: {reason}" in result.stderr
    assert not (tmp_path / "hand").exists()


def test_a_source_by_a_lut_is_part_of_the_nearest(tmp_path: Path) -> None:
    """A Common LUT Format file that decodes code by a power of 2.2, which sRGB nearly is."""
    path = shot(tmp_path / "day" / "quay.tif", BALANCE, encoding={"source": "camera.clf", "delivery": "sRGB"})
    params = '<ExponentParams exponent="2.2"/>'
    exponent = f'<Exponent inBitDepth="32f" outBitDepth="32f" style="basicFwd">{params}</Exponent>'
    path.with_name("camera.clf").write_text(f'<ProcessList id="a" compCLFversion="3.0">{exponent}</ProcessList>')
    result = poise("export", path, "--to", "cdl", "--out", tmp_path / "hand", "--json")
    assert result.exit_code == 0, result.stderr
    (one,) = json.loads(result.stdout)["shots"]
    assert one["unfit"] == ["conversion from camera.clf to sRGB"]
    assert one["off"]["mean"] < 0.005 * 65535
    assert one["slope"] == pytest.approx([1.1, 1, 0.9], abs=0.1)


def test_json(day: Path, tmp_path: Path) -> None:
    (day / "quay_02.tif").write_bytes(b"")
    result = poise("export", day, "--to", "cdl", "--out", tmp_path / "hand", "--json")
    assert result.exit_code == 1
    told = json.loads(result.stdout)
    assert [one["file"] for one in told["passed_over"]] == [
        str(day / f"{n}.tif") for n in ("ferry_01", "ferry_02", "mole")
    ]
    assert [one["file"] for one in told["failed"]] == [str(day / "quay_02.tif")]
    (one,) = told["shots"]
    assert one == {
        "file": str(day / "quay_01.tif"),
        "id": "quay_01",
        **BALANCE["balance"],
        "saturation": 1.25,
        "exact": True,
        "unfit": [],
        "off": None,
    }


def test_wrong_calls(day: Path, tmp_path: Path) -> None:
    assert poise("export", day / "mole.tif", "--to", "cdl", "--out", tmp_path / "hand").exit_code == 2
    assert poise("export", day, "--to", "edl", "--out", tmp_path / "hand").exit_code == 2
    result = poise("export", day, "--to", "clf", "--strict", "--out", tmp_path / "hand")
    assert (result.exit_code, "--strict does not apply to --to clf" in result.stderr) == (2, True)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written(day: Path, tmp_path: Path) -> None:
    (tmp_path / "hand").mkdir(mode=0o500)
    result = poise("export", day, "--to", "cdl", "--out", tmp_path / "hand")
    assert (result.exit_code, "Permission denied" in result.stderr) == (1, True)
