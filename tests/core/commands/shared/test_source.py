"""A CLF as a source through the commands: apply, measure, a changed file, a missing one; the same by every depth."""

import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
from click.testing import CliRunner, Result
from skimage import data

from poise.colour.transfer import decode, encode
from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")

HEAD = '<?xml version="1.0"?>\n<ProcessList id="camera_a" compCLFversion="3.0">'
DEPTHS = 'inBitDepth="32f" outBitDepth="32f"'


def poise(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def table(path: Path, values: np.ndarray) -> None:
    numbers = " ".join(f"{value:.9g}" for value in values)
    lut = f'<LUT1D {DEPTHS}><Array dim="{len(values)} 1">{numbers}</Array></LUT1D>'
    path.write_text(f"{HEAD}{lut}</ProcessList>")


def sidecar(folder: Path, name: str, **encoding: str) -> None:
    (folder / f"{name}.poise.json").write_text(json.dumps({"poise": 1, "encoding": encoding}))


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    for frame in (1001, 1002):
        pixels = data.coffee()[frame - 1000 :: 8, ::8].astype(np.uint16) * 257
        tifffile.imwrite(folder / f"ferry_01.{frame}.tif", pixels, photometric="rgb")
    tifffile.imwrite(folder / "quay_02.tif", data.astronaut()[::8, ::8], photometric="rgb")
    table(folder / "camera_a.clf", decode("ACEScct", np.linspace(0, 1, 65536)))
    return folder


def test_apply_goes_through_it(day: Path, tmp_path: Path) -> None:
    sidecar(day, "ferry_01.####.tif", source="camera_a.clf")
    sidecar(day, "quay_02.tif", source="camera_a.clf", delivery="ITU-R BT.1886")
    done = poise("apply", day, "--out", tmp_path / "out", "--workers", 2)
    assert done.exit_code == 0, done.output
    for name, delivery, top in (("ferry_01.1002.tif", "sRGB", 65535), ("quay_02.tif", "ITU-R BT.1886", 255)):
        source, made = (tifffile.imread(folder / name).astype(float) for folder in (day, tmp_path / "out"))
        light = decode("ACEScct", source / top)  # by colour-science (Academy S-2016-001)
        exact = np.floor(np.clip(encode(delivery, light), 0, 1) * top + 0.5)
        assert np.abs(made - exact).max() <= 1


def test_a_changed_file_makes_its_frames_anew_and_no_others(day: Path, tmp_path: Path) -> None:
    sidecar(day, "ferry_01.####.tif", source="camera_a.clf")
    sidecar(day, "quay_02.tif", source="ACEScct")
    out = tmp_path / "out"
    assert poise("apply", day, "--out", out, "--workers", 1).exit_code == 0
    (day / "camera_a.clf").touch()  # the same content is the same source
    assert len(json.loads(poise("apply", day, "--out", out, "--workers", 1, "--json").stdout)["unchanged"]) == 3
    before = tifffile.imread(out / "ferry_01.1001.tif")
    table(day / "camera_a.clf", np.linspace(0, 1, 16) ** 2)
    again = json.loads(poise("apply", day, "--out", out, "--workers", 1, "--json").stdout)
    assert sorted(Path(file).name for file in again["done"]) == ["ferry_01.1001.tif", "ferry_01.1002.tif"]
    assert not np.array_equal(tifffile.imread(out / "ferry_01.1001.tif"), before)


def test_a_folder_that_moved_is_not_done_again(day: Path, tmp_path: Path) -> None:
    sidecar(day, "quay_02.tif", source="camera_a.clf")
    assert poise("apply", day / "quay_02.tif", "--out", tmp_path / "out").exit_code == 0
    moved = day.rename(tmp_path / "monday")
    again = json.loads(poise("apply", moved / "quay_02.tif", "--out", tmp_path / "out", "--json").stdout)
    assert (len(again["done"]), len(again["unchanged"])) == (0, 1)


def test_a_missing_file_is_told_once_a_shot_and_the_rest_is_done(day: Path, tmp_path: Path) -> None:
    sidecar(day, "ferry_01.####.tif", source="camera_b.clf")
    sidecar(day, "quay_02.tif", source="camera_a.clf")
    done = poise("apply", day, "--out", tmp_path / "out", "--workers", 1)
    assert done.exit_code == 1
    told = [line for line in done.stderr.splitlines() if "camera_b" in line]
    assert len(told) == 1
    assert told[0].startswith("poise: ")
    assert told[0].endswith(
        "ferry_01.####.tif: its source camera_b.clf is not in the shot's folder; "
        "put it there, or clear it with poise reset --source"
    )
    assert [path.name for path in (tmp_path / "out").glob("*.tif")] == ["quay_02.tif"]
    for command in ("measure", "auto"):
        told = [line for line in poise(command, day).stderr.splitlines() if line.startswith("poise: ")]
        assert len(told) == 1
        assert "its source camera_b.clf is not in the shot's folder" in told[0]


def test_no_path_out_of_the_folder_is_taken_from_a_sidecar(day: Path, tmp_path: Path) -> None:
    (day / "camera_a.clf").rename(tmp_path / "camera_a.clf")
    for source in ("../camera_a.clf", str(tmp_path / "camera_a.clf")):
        sidecar(day, "quay_02.tif", source=source)
        done = poise("measure", day / "quay_02.tif")
        assert done.exit_code == 1
        assert "names a place outside the shot's folder" in done.stderr


def test_what_measure_and_auto_see_is_what_comes_after_it(day: Path) -> None:
    sidecar(day, "quay_02.tif", source="camera_a.clf")
    sidecar(day, "ferry_01.####.tif", source="ACEScct")
    through = json.loads(poise("measure", day / "quay_02.tif", "--json").stdout)[0]["readings"]
    assert poise("auto", day / "quay_02.tif").exit_code == 0
    found = json.loads((day / "quay_02.tif.poise.json").read_text())
    assert found["encoding"]["source"] == "camera_a.clf"
    sidecar(day, "quay_02.tif", source="ACEScct")
    named = json.loads(poise("measure", day / "quay_02.tif", "--json").stdout)[0]["readings"]
    assert through["luma"] == pytest.approx(named["luma"], abs=0.5)
    assert poise("auto", day / "quay_02.tif").exit_code == 0
    other = json.loads((day / "quay_02.tif.poise.json").read_text())
    light, expected = found["correction"]["light"], other["correction"]["light"]
    assert light.keys() == expected.keys()
    for name in light:
        assert light[name] == pytest.approx(expected[name], abs=0.1), name


def test_its_own_export_holds_it(day: Path, tmp_path: Path) -> None:
    sidecar(day, "quay_02.tif", source="camera_a.clf")
    done = poise("export", day / "quay_02.tif", "--to", "clf", "--out", tmp_path / "handover")
    assert done.exit_code == 0, done.output
    text = (tmp_path / "handover" / "quay_02.clf").read_text()
    assert "<InputDescriptor>8 bit, full range, camera_a.clf, primaries ITU-R BT.709</InputDescriptor>" in text


def test_a_shot_whose_file_is_bad_says_what_it_holds(day: Path) -> None:
    sidecar(day, "quay_02.tif", source="camera_a.clf")
    (day / "camera_a.clf").write_text(f"{HEAD}<Sparkle/></ProcessList>")
    done = poise("measure", day / "quay_02.tif")
    assert done.exit_code == 1
    assert "quay_02.tif: its source camera_a.clf: the node 'Sparkle' is not one of ASC_CDL, " in done.stderr


def test_import_names_it_as_the_source(day: Path, tmp_path: Path) -> None:
    done = poise("import", day / "camera_a.clf", "--onto", day / "quay_02.tif")
    assert done.exit_code == 0, done.output
    assert done.stdout == (
        f"{day / 'quay_02.tif'}: through camera_a.clf to linear light in ITU-R BT.709, delivered as sRGB\n"
    )
    found = json.loads((day / "quay_02.tif.poise.json").read_text())
    assert (found["encoding"]["source"], found["encoding"]["clf_gives"]) == ("camera_a.clf", "linear")
    (day / "luts").mkdir()
    (day / "camera_a.clf").rename(day / "luts" / "camera_b.clf")
    several = poise("import", day / "luts/camera_b.clf", "--onto", day, "--gives", "ITU-R BT.1886", "--json")
    assert [(one["source"], one["clf_gives"]) for one in json.loads(several.stdout)["done"]] == [
        ("luts/camera_b.clf", "ITU-R BT.1886")
    ] * 2
    assert poise("apply", day, "--out", tmp_path / "out", "--workers", 1).exit_code == 0


def test_import_refuses_what_can_not_be_a_source(day: Path, tmp_path: Path) -> None:
    for name, said in (
        (tmp_path / "camera_a.clf", f"is not in its folder; copy it to {day}, and import it from there"),
        (day / "gone.clf", "does not exist; check the name"),
        (day / "empty.clf", "its source empty.clf: it is empty; copy it again"),
    ):
        if name.name != "gone.clf":
            name.write_bytes(b"" if name.name == "empty.clf" else (day / "camera_a.clf").read_bytes())
        done = poise("import", name, "--onto", day / "quay_02.tif")
        assert done.exit_code == 1
        assert said in done.stderr
        assert not (day / "quay_02.tif.poise.json").exists()
    wrong = poise("import", day / "camera_a.clf", "--onto", day, "--gives", "fog")
    assert wrong.exit_code == 2
    assert "--gives: no transfer function 'fog'" in wrong.stderr
    two = poise("import", day / "camera_a.clf", day / "empty.clf", "--onto", day)
    assert two.exit_code == 2
    dry = poise("import", day / "camera_a.clf", "--onto", day, "--dry-run")
    assert dry.exit_code == 0
    assert not list(day.glob("*.poise.json"))


def test_what_poise_exported_is_no_camera(day: Path) -> None:
    """A whole correction as a source would be corrected once more: it gives code, and that has to be said."""
    assert poise("export", day / "quay_02.tif", "--all", "--to", "clf", "--out", day).exit_code == 0
    done = poise("import", day / "quay_02.clf", "--onto", day / "quay_02.tif")
    assert done.exit_code == 1
    assert "it is a complete correction, and its output is sRGB code, not linear light" in done.stderr
    assert not (day / "quay_02.tif.poise.json").exists()
    assert poise("import", day / "quay_02.clf", "--onto", day / "quay_02.tif", "--gives", "sRGB").exit_code == 0


def test_a_source_that_was_not_meant_is_taken_out_again(day: Path) -> None:
    assert poise("auto", day / "quay_02.tif").exit_code == 0
    kept = json.loads((day / "quay_02.tif.poise.json").read_text())
    assert poise("import", day / "camera_a.clf", "--onto", day, "--gives", "ITU-R BT.709").exit_code == 0
    (day / "camera_a.clf").unlink()
    done = poise("reset", "--source", day)
    assert done.exit_code == 0, done.output
    assert f"{day}/quay_02.tif: sRGB, the default of its format" in done.stdout
    found = json.loads((day / "quay_02.tif.poise.json").read_text())
    assert (found["encoding"]["source"], found["encoding"]["clf_gives"]) == ("sRGB", "linear")
    assert (found["correction"], found["hand"], found["state"]) == (kept["correction"], kept["hand"], kept["state"])


def test_check_report_and_show_see_what_comes_after_it(day: Path, tmp_path: Path) -> None:
    sidecar(day, "quay_02.tif", source="camera_a.clf")
    sidecar(day, "ferry_01.####.tif", source="camera_a.clf")
    checked = poise("check", day, "--json")
    assert "unreadable" not in {fault["fault"] for fault in json.loads(checked.stdout)}
    reported = poise("report", day, "--json", "--out", tmp_path / "day.html")
    told = json.loads(reported.stdout)
    assert [one["encoding"]["source"] for one in told["shots"]] == ["camera_a.clf"] * 2
    assert str(tmp_path) not in json.dumps([one["encoding"] for one in told["shots"]])
    shown = poise("show", day / "quay_02.tif")
    assert shown.exit_code == 0
    assert "camera_a.clf" in shown.stdout
    (day / "record.json").write_text(reported.stdout)
    assert poise("check", day, "--against", day / "record.json").exit_code == 0
    table(day / "camera_a.clf", np.linspace(0, 1, 16))
    against = poise("check", day, "--against", day / "record.json")
    assert against.exit_code == 1
    assert "its decision differs from the recorded one" in against.stdout + against.stderr
