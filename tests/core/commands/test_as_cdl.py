"""`--as cdl`: what auto and match decide is handed over exactly, as OpenColorIO's CDLTransform has it."""

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import PyOpenColorIO as ocio
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from skimage import data

from poise.commands import main
from poise.correction import CODED
from poise.engine import compile_engine
from poise.frames import Depth, read
from poise.sidecar import load

pytestmark = pytest.mark.usefixtures("in_this_process")

DEMO = Path(__file__).parents[3] / "demo_frames"
STILLS = ("alley_07.png", "ferry_02.png", "fishmonger_05.png", "harbour_09.jpg", "market_03.tif", "net_loft_06.tif")


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def handed(file: Path, name: str, code: np.ndarray) -> np.ndarray:
    """Code, 0..1, through a `.cc` file by OpenColorIO, clamped as ASC CDL v1.2 says."""
    ocio.ClearAllCaches()
    transform = ocio.CDLTransform.CreateFromFile(str(file), name)
    transform.setStyle(ocio.CDL_ASC)
    cpu = ocio.Config.CreateRaw().getProcessor(transform).getOptimizedCPUProcessor(ocio.OPTIMIZATION_NONE)
    out = np.ascontiguousarray(code, np.float32).copy()
    cpu.applyRGB(out)
    return out


def same_by_open_color_io(folder: Path, hand: Path, names: tuple[str, ...]) -> None:
    exported = poise("export", folder, "--to", "cdl", "--strict", "--out", hand)
    assert exported.exit_code == 0, exported.stderr
    assert exported.stdout.count(", exact: ") == len(names)
    for name in names:
        frame = read(folder / name)
        correction = load(folder / f"{name}.poise.json").correction
        ours = compile_engine(correction, CODED, frame.depth).apply(frame.colour)
        theirs = handed(hand / f"{Path(name).stem}.cc", Path(name).stem, frame.colour / frame.depth.maximum)
        # half a code is what rounding leaves; OpenColorIO counts in float32
        assert np.abs(ours - theirs * frame.depth.maximum).max() < (0.51 if frame.depth is Depth.U8 else 1.0), name


@pytest.mark.thorough
def test_the_demo_reel_is_handed_over_exactly(tmp_path: Path) -> None:
    reel = tmp_path / "reel"
    reel.mkdir()
    for name in STILLS:
        shutil.copy(DEMO / name, reel)
    result = poise("auto", reel, "--as", "cdl", "--json")
    assert result.exit_code == 0, result.stderr
    told = {Path(entry["file"]).name: entry["notes"] for entry in json.loads(result.stdout)}
    fitted = {name: note for name, notes in told.items() for note in notes if "saturation alone" in note}
    assert {"alley_07.png", "ferry_02.png"} <= set(fitted)
    for name, note in fitted.items():
        mean = float(note.split("correction by ")[1].split(" %")[0])
        assert mean < 2.5, name  # measured: 0.5 to 1.9
    same_by_open_color_io(reel, tmp_path / "hand", STILLS)


def test_linear_light_is_refused_by_name_and_nothing_is_written(tmp_path: Path) -> None:
    shutil.copy(DEMO / "slipway_08.exr", tmp_path)
    result = poise("auto", tmp_path, "--as", "cdl")
    assert result.exit_code == 1
    assert "slipway_08.exr: no ten numbers hold the way from linear" in result.stderr
    assert not list(tmp_path.glob("*.json"))
    assert poise("auto", tmp_path, "--as", "lut").exit_code == 2


def test_match_brings_what_the_shot_has_within_ten_numbers(tmp_path: Path) -> None:
    cup = data.coffee()[::3, ::3]
    worn = np.rint(255 * (cup / 255 * [0.7, 0.8, 0.6] + [0.02, 0.0, 0.04])).astype(np.uint8)
    Image.fromarray(cup).save(tmp_path / "quay_01.png")
    Image.fromarray(worn).save(tmp_path / "quay_02.png")
    has: dict[str, Any] = {"light": {"warmth": 30, "exposure": 0.2}, "levels": {"black": 0.02}, "tone": {"toe": 0.2}}
    beside = tmp_path / "quay_02.png.poise.json"
    beside.write_text(json.dumps({"poise": 1, "correction": has}))
    result = poise("match", tmp_path / "quay_02.png", "--to", tmp_path / "quay_01.png", "--as", "cdl")
    assert result.exit_code == 0, result.stderr
    assert "what it had as slope, offset, power and saturation alone" in result.stdout
    after = float(result.stdout.split("-> ")[1].split(" %")[0])
    assert after == pytest.approx(0, abs=0.3)
    correction = load(beside).correction
    assert (correction.light, correction.tone, correction.levels) == (type(correction.light)(),
        type(correction.tone)(), type(correction.levels)())  # fmt: skip
    same_by_open_color_io(tmp_path, tmp_path / "hand", ("quay_02.png",))
