"""`poise export --to clf`: what OpenColorIO makes of the file is what apply writes, and mattes are refused by name."""

import json
import shutil
from pathlib import Path
from xml.etree import ElementTree as tree

import numpy as np
import PyOpenColorIO as ocio
import pytest
import tifffile
from click.testing import CliRunner, Result
from skimage import data

from poise.commands import main
from poise.correction import Balance, Correction, Inside, Interval, Levels, Light, Matte
from poise.frames.scan import scan
from poise.sidecar import Sidecar, save

pytestmark = pytest.mark.usefixtures("in_this_process")

WARM = Correction(light=Light(warmth=20), levels=Levels(0.03, 0.94), saturation=1.1)
BUOY = Matte("buoy", chroma=Interval(0.1, 1), inside=Inside(saturation=0.5))


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    deep = data.coffee()[::6, ::6].astype(np.uint16) * 257
    tifffile.imwrite(folder / "quay_02.tif", deep, photometric="rgb")
    tifffile.imwrite(folder / "ferry_01.tif", data.astronaut()[::8, ::8], photometric="rgb")
    return folder


def decide(folder: Path, name: str, correction: Correction) -> None:
    (shot,) = scan([folder / name]).shots
    save(shot.sidecar_path, Sidecar(correction=correction), None)


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def received(path: Path, pixels: np.ndarray) -> np.ndarray:
    bits = ocio.BIT_DEPTH_UINT8 if pixels.dtype == np.uint8 else ocio.BIT_DEPTH_UINT16
    ocio.ClearAllCaches()
    cpu = ocio.Config.CreateRaw().getProcessor(ocio.FileTransform(str(path)))
    cpu = cpu.getOptimizedCPUProcessor(bits, bits, ocio.OPTIMIZATION_DEFAULT)
    result, (height, width, _), size = np.empty_like(pixels), pixels.shape, pixels.itemsize
    layout = (width, height, 3, bits, size, size * 3, size * 3 * width)
    cpu.apply(ocio.PackedImageDesc(pixels, *layout), ocio.PackedImageDesc(result, *layout))
    return result


def test_what_was_handed_over_is_what_apply_writes(day: Path, tmp_path: Path) -> None:
    for name in ("quay_02.tif", "ferry_01.tif"):
        decide(day, name, WARM)
    out, hand = tmp_path / "balanced", tmp_path / "handover"
    assert run("apply", day, "--out", out, "--workers", 1).exit_code == 0
    done = run("export", day, "--to", "clf", "--out", hand)
    assert done.exit_code == 0, done.output
    for name in ("quay_02", "ferry_01"):
        written = tifffile.imread(out / f"{name}.tif")
        assert np.array_equal(received(hand / f"{name}.clf", tifffile.imread(day / f"{name}.tif")), written)
    text = (hand / "quay_02.clf").read_text()
    recorded = {line["output"]: line for line in map(json.loads, next(out.glob("*.jsonl")).read_text().splitlines())}
    assert f"correction {recorded['quay_02.tif']['recipe'][:16]}</Description>" in text
    assert f"XXH3 {recorded['quay_02.tif']['source_hash']}</Description>" in text
    again = run("export", day, "--to", "clf", "--out", hand, "--json")
    assert [Path(path).name for path in json.loads(again.stdout)["unchanged"]] == ["ferry_01.clf", "quay_02.clf"]


def test_mattes_are_refused_by_name_or_left_out_aloud(day: Path, tmp_path: Path) -> None:
    decide(day, "quay_02.tif", Correction(saturation=1.2, mattes=(BUOY,)))
    decide(day, "ferry_01.tif", Correction(saturation=1.2))
    hand = tmp_path / "handover"
    refused = run("export", day, "--to", "clf", "--out", hand)
    assert refused.exit_code == 1
    assert (
        "quay_02.tif: a CLF can't represent mattes, and it has buoy; leave them out with --without-mattes"
        in refused.stderr
    )
    assert [path.name for path in hand.iterdir()] == ["ferry_01.clf"]  # the rest was done
    left = run("export", day, "--to", "clf", "--out", hand, "--without-mattes")
    assert left.exit_code == 0
    assert "note: " in left.stderr
    assert "quay_02.tif: exported without its mattes buoy" in left.stderr
    assert "<Description>without the mattes buoy</Description>" in (hand / "quay_02.clf").read_text()


def test_names_that_no_xml_holds_are_written_as_escapes(day: Path, tmp_path: Path) -> None:
    for name in ("fog\x01.tif", "fog\udcff.tif"):
        shutil.copy(day / "quay_02.tif", day / name)
    hand = tmp_path / "handover"
    done = run("export", day, "--to", "clf", "--out", hand, "--all")
    assert done.exit_code == 0, done.output
    told = {tree.parse(path).getroot().get("name") for path in hand.iterdir()}
    assert told == {r"fog\x01.tif", r"fog\udcff.tif", "quay_02.tif", "ferry_01.tif"}


def test_a_matte_that_is_off_is_no_hindrance(day: Path, tmp_path: Path) -> None:
    decide(day, "quay_02.tif", Correction(mattes=(Matte("buoy", on=False, inside=Inside(saturation=0.5)),)))
    assert run("export", day / "quay_02.tif", "--to", "clf", "--out", tmp_path / "handover").exit_code == 0


def test_a_grey_picture_takes_no_balance_here_either(day: Path, tmp_path: Path) -> None:
    tifffile.imwrite(day / "fog_01.tif", data.camera()[::8, ::8])
    decide(day, "fog_01.tif", Correction(balance=Balance(slope=(1.1, 1, 1))))
    done = run("export", day / "fog_01.tif", "--to", "clf", "--out", tmp_path / "handover")
    assert done.exit_code == 1
    assert "fog_01.tif: a greyscale picture takes no warmth" in done.stderr


def test_options_of_another_standard_are_refused(day: Path, tmp_path: Path) -> None:
    done = run("export", day, "--to", "cdl", "--out", tmp_path / "handover", "--without-mattes", "--all")
    assert done.exit_code == 2
    assert "--without-mattes does not apply to --to cdl" in done.stderr
