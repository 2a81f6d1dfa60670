"""`poise import`: whose correction becomes what, what is left alone, and what is told."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from click.testing import CliRunner, Result
from skimage import data

from poise.commands import main
from poise.correction import Encoding
from poise.exchange.cdl import Cdl, Entry, cc, ccc, code_descriptions, decision_list
from poise.sidecar import load

PICTURE = np.ascontiguousarray(data.astronaut()[::16, ::16])
CDL = Cdl((1.1, 1.0, 0.9), (0.02, -0.03, 0.05), (0.9, 1.0, 1.2), 1.25)
OTHER = Cdl(saturation=0.5)
NAMES = ("quay_01.tif", "quay_02.tif", "b/ferry.tif")


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def decide(path: Path, correction: dict[str, Any], **keys: Any) -> None:
    path.with_name(f"{path.name}.poise.json").write_text(json.dumps({"poise": 1, "correction": correction, **keys}))


def got(path: Path) -> Cdl | None:
    sidecar = path.with_name(f"{path.name}.poise.json")
    if not sidecar.exists():
        return None
    found = load(sidecar).correction
    cdl = Cdl(found.balance.slope, found.balance.offset, found.balance.power, found.saturation)
    assert found == cdl.correction  # and nothing else
    return cdl


@pytest.fixture
def day(tmp_path: Path) -> Path:
    for name in NAMES:
        path = tmp_path / "day" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        tifffile.imwrite(path, PICTURE, photometric="rgb")
    return tmp_path / "day"


def reel(tmp_path: Path, *entries: Entry, form: str = "ccc") -> Path:
    file = tmp_path / f"day.{form}"
    file.write_bytes(ccc(entries, "day") if form == "ccc" else decision_list(entries, "day"))
    return file


def test_a_reel_goes_to_its_shots(day: Path, tmp_path: Path) -> None:
    file = reel(tmp_path, Entry("quay_01", CDL), Entry("b/ferry.tif", OTHER), Entry("mole", CDL))
    result = poise("import", file, "--onto", day)
    assert result.exit_code == 0, result.stderr
    assert set(result.stdout.splitlines()) == {
        f"{day}/quay_01.tif: quay_01 of {file}",
        f"{day}/b/ferry.tif: b/ferry.tif of {file}",
    }
    assert result.stderr.splitlines() == [f"note: {file}: no shot for mole", f"no correction for {day}/quay_02.tif"]
    assert [got(day / name) for name in NAMES] == [CDL, None, OTHER]
    assert load(day / "quay_01.tif.poise.json").by_hand
    again = poise("import", file, "--onto", day)
    assert (again.exit_code, again.stdout) == (0, "")
    assert "2 unchanged" in again.stderr


def test_media_and_references(day: Path, tmp_path: Path) -> None:
    shots = [
        Entry("scene_4", CDL, ("day/quay_01.tif",)),
        Entry("scene_5", CDL, ("b/ferry.tif",)),
        Entry("quay_02", OTHER),
    ]
    result = poise("import", reel(tmp_path, *shots, form="cdl"), "--onto", day)
    assert result.exit_code == 0, result.stderr
    assert [got(day / name) for name in NAMES] == [CDL, OTHER, CDL]


def test_one_onto_one_and_paths_after_onto(day: Path, tmp_path: Path) -> None:
    file = tmp_path / "scene_4.cc"
    file.write_bytes(cc(Entry("a001", CDL)))
    assert poise("import", file, "--onto", day / "quay_02.tif").exit_code == 0
    assert got(day / "quay_02.tif") == CDL
    result = poise("import", file, "--onto", day / "quay_01.tif", day / "b" / "ferry.tif", "--dry-run")
    assert (result.exit_code, "nothing to import" in result.stderr) == (2, True)
    both = reel(tmp_path, Entry("quay_01", CDL), Entry("ferry", OTHER))
    result = poise("import", "--onto", day / "quay_01.tif", day / "b" / "ferry.tif", "--again", "--", both)
    assert result.exit_code == 0, result.stderr
    assert [got(day / name) for name in NAMES] == [CDL, CDL, OTHER]


def test_what_was_made_by_hand_or_is_held_stays(day: Path, tmp_path: Path) -> None:
    decide(day / "quay_01.tif", {"saturation": 1.1})
    decide(day / "quay_02.tif", {}, state="held", note="fog", crew="night")
    decide(day / "b" / "ferry.tif", {"saturation": 1.1}, hand=False)
    file = reel(tmp_path, *(Entry(name, CDL) for name in ("quay_01", "quay_02", "ferry")))
    result = poise("import", file, "--onto", day)
    assert result.exit_code == 0
    assert f"passed over {day}/quay_01.tif: its correction was made by hand; replace it with --again" in result.stderr
    assert f"passed over {day}/quay_02.tif: held; replace it with --again" in result.stderr
    assert [got(day / name) for name in NAMES] == [Cdl(saturation=1.1), Cdl(), CDL]
    assert poise("import", file, "--onto", day, "--again").exit_code == 0
    assert [got(day / name) for name in NAMES] == [CDL, CDL, CDL]
    kept = json.loads((day / "quay_02.tif.poise.json").read_text())
    assert (kept["state"], kept["note"], kept["crew"]) == ("held", "fog", "night")


def test_what_goes_with_other_parts_is_told(day: Path, tmp_path: Path) -> None:
    matte = {"name": "buoy", "inside": {"turn": 30}}
    decide(day / "quay_01.tif", {"mattes": [matte], "light": {"exposure": 1}, "levels": {"black": 0.1}}, hand=False)
    result = poise("import", reel(tmp_path, Entry("quay_01", CDL)), "--onto", day)
    assert f"note: {day}/quay_01.tif: its mattes and curves were removed: a CDL has none" in result.stderr
    assert got(day / "quay_01.tif") == CDL


def test_a_conversion_is_told_and_other_code_not_taken(day: Path, tmp_path: Path) -> None:
    log = Encoding("ACEScct", "sRGB")
    for name in ("quay_01.tif", "quay_02.tif"):
        decide(day / name, {}, encoding={"source": "ACEScct", "delivery": "sRGB"})
    told = Entry("quay_02", CDL, (), (), *code_descriptions(log))
    result = poise("import", reel(tmp_path, Entry("quay_01", CDL), told), "--onto", day)
    assert result.exit_code == 1
    words = "its source is ACEScct: the CDL applies to sRGB code, after that conversion"
    assert f"note: {day}/quay_01.tif: {words}" in result.stderr
    refused = "quay_02 was made for ACEScct code, but would apply to sRGB code here; not imported"
    assert f"poise: {day}/quay_02.tif: {refused}" in result.stderr
    assert [got(day / name) for name in NAMES] == [CDL, Cdl(), None]


def test_nothing_is_guessed(day: Path, tmp_path: Path) -> None:
    tifffile.imwrite(day / "b" / "quay_01.tif", PICTURE, photometric="rgb")
    shots = [Entry("quay_01", CDL), Entry("quay_02", CDL), Entry("quay_02.tif", OTHER), Entry("ferry", CDL)]
    file = reel(tmp_path, *shots)
    result = poise("import", file, "--onto", day)
    assert result.exit_code == 1
    faults = [line for line in result.stderr.splitlines() if line.startswith("poise: ")]
    assert len(faults) == 2
    assert faults[0].startswith(f"poise: {file}: quay_01 fits ")
    assert (
        f"{day}/quay_02.tif: quay_02 of {file} and quay_02.tif of {file} are both for this shot, and differ"
        in faults[1]
    )
    assert [got(day / name) for name in NAMES] == [None, None, CDL]


def test_a_bad_file_costs_itself_only(day: Path, tmp_path: Path) -> None:
    bad, good = tmp_path / "bad.cc", tmp_path / "quay_01.cc"
    bad.write_bytes(cc(Entry("quay_02", CDL)).replace(b"<Power>0.9 1.0 1.2</Power>", b""))
    good.write_bytes(cc(Entry(None, CDL)))
    result = poise("import", bad, good, tmp_path / "no.cc", "--onto", day)
    assert result.exit_code == 1
    faults = [line for line in result.stderr.splitlines() if line.startswith("poise: ")]
    assert faults == [
        f"poise: {bad}: Power is missing in a SOPNode, line 3",
        f"poise: {tmp_path}/no.cc: can't be read: no such file or directory; check the name",
    ]
    assert [got(day / name) for name in NAMES] == [CDL, None, None]


def test_what_a_shot_can_not_take(day: Path, tmp_path: Path) -> None:
    tifffile.imwrite(day / "quay_02.tif", PICTURE[..., 0], photometric="minisblack")
    (day / "b" / "ferry.tif").write_bytes(b"")
    far = Cdl((1.0, 17.0, 1.0))
    result = poise(
        "import", reel(tmp_path, Entry("quay_01", far), Entry("quay_02", CDL), Entry("ferry", CDL)), "--onto", day
    )
    assert result.exit_code == 1
    faults = [line for line in result.stderr.splitlines() if line.startswith("poise: ")]
    assert len(faults) == 3
    assert (
        "quay_01.tif: quay_01 exceeds the limits of poise: balance.slope[1]: Expected `float` <= 16.0"
        in faults[0] + faults[2]
    )
    assert "a greyscale picture takes no balance between channels" in result.stderr
    assert [got(day / name) for name in NAMES] == [None, None, None]


def test_json_and_dry_run(day: Path, tmp_path: Path) -> None:
    file = reel(tmp_path, Entry("quay_01", CDL), Entry("mole", CDL))
    result = poise("import", file, "--onto", day, "--dry-run", "--json")
    assert json.loads(result.stdout) == {
        "done": [{"file": str(day / "quay_01.tif"), "id": "quay_01", "from": str(file)}],
        "unchanged": [],
        "passed_over": [],
        "unmatched": [{"file": str(file), "id": "mole"}],
        "without": [str(day / "quay_02.tif"), str(day / "b" / "ferry.tif")],
        "failed": [],
        "dry_run": True,
    }
    assert [got(day / name) for name in NAMES] == [None, None, None]


def test_many_that_are_for_none_take_one_line(day: Path, tmp_path: Path) -> None:
    file = reel(tmp_path, Entry("quay_01", CDL), *(Entry(f"sail_{number}", CDL) for number in range(400)))
    result = poise("import", file, "--onto", day / "quay_01.tif")
    assert result.exit_code == 0
    assert "sail_9 and 390 more" in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_wrong_calls(day: Path, tmp_path: Path) -> None:
    file = reel(tmp_path, Entry("quay_01", CDL))
    for call in (
        ["import", file],
        ["import", file, "--onto"],
        ["import", "--onto", day],
        ["import", file, "--onto", tmp_path / "no"],
    ):
        assert poise(*call).exit_code == 2


def test_a_wrong_call_says_what_to_do(day: Path, tmp_path: Path) -> None:
    file = tmp_path / "elsewhere.cc"
    file.write_bytes(cc(Entry("lighthouse", CDL)))
    for call, words in (
        (("--onto", day, file), "no FILE to import: name files first, then --onto followed by every PATH"),
        ((tmp_path, "--onto", day), f"{tmp_path}: this is a folder; name the .cc, .ccc or .cdl files in it"),
        ((file, "--onto", day), "no correction is for any of the shots; a single correction is imported"),
        ((day / "quay_01.tif", "--onto", day), "check that it is the right file, and complete"),
    ):
        result = poise("import", *call)
        assert result.exit_code != 0
        assert words in result.stderr, result.stderr
        assert [got(day / name) for name in NAMES] == [None, None, None]
