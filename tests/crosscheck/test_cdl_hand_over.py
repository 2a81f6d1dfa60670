"""Exported ASC CDL, read and applied by OpenColorIO, against what `apply` writes; and imported again."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import PyOpenColorIO as ocio
import pytest
import tifffile
from click.testing import CliRunner, Result
from skimage import data
from thorough import many

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.commands import main
from poise.sidecar import load

Picture = npt.NDArray[Any]
SMALL = data.astronaut()[::12, ::12].astype(np.uint16) * 257
COFFEE = np.ascontiguousarray(data.coffee()[::3, ::3])


def poise(*args: object) -> Result:
    result = CliRunner().invoke(main, [str(arg) for arg in args])
    assert result.exit_code == 0, result.stderr
    return result


def by_opencolorio(file: Path, name: str, picture: Picture) -> Picture:
    """A picture through the CDL of a file: ASC style for integers, no clamp for float (OpenColorIO's `CDLStyle`)."""
    ocio.ClearAllCaches()  # it keeps files by their path
    transform = ocio.CDLTransform.CreateFromFile(str(file), name)
    real = picture.dtype.kind == "f"
    transform.setStyle(ocio.CDL_NO_CLAMP if real else ocio.CDL_ASC)
    config = ocio.Config.CreateRaw()
    config.setProcessorCacheFlags(ocio.PROCESSOR_CACHE_OFF)
    depth = {"f": ocio.BIT_DEPTH_F32, 1: ocio.BIT_DEPTH_UINT8, 2: ocio.BIT_DEPTH_UINT16}[
        "f" if real else picture.dtype.itemsize
    ]
    cpu = config.getProcessor(transform).getOptimizedCPUProcessor(depth, depth, ocio.OPTIMIZATION_LOSSLESS)
    result = np.empty_like(picture)
    height, width, size = *picture.shape[:2], picture.dtype.itemsize
    layout = (width, height, 3, depth, size, 3 * size, 3 * size * width)
    cpu.apply(ocio.PackedImageDesc(picture, *layout), ocio.PackedImageDesc(result, *layout))
    return result


def applied(source: Path, output: Path) -> Picture:
    found = load(source.with_name(f"{source.name}.poise.json"))
    assert isinstance(process_frame(Job(source, output, found.correction, found.encoding, "tiff", None)), FrameResult)
    return tifffile.imread(output)


def decide(source: Path, picture: Picture, correction: dict[str, Any], **keys: Any) -> None:
    source.parent.mkdir(exist_ok=True)
    tifffile.imwrite(source, picture, photometric="rgb")
    text = json.dumps({"poise": 1, "correction": correction, **keys})
    source.with_name(f"{source.name}.poise.json").write_text(text)


def within_reach(rng: np.random.Generator) -> dict[str, Any]:
    slope, offset, power = (rng.uniform(*ends, 3).tolist() for ends in ((0.6, 1.6), (-0.15, 0.15), (0.5, 2)))
    ends = {"black": rng.uniform(-0.05, 0.15), "white": rng.uniform(0.8, 1.1)}
    levels = {**ends, "contrast": rng.uniform(0.7, 1.4), "pivot": rng.uniform(0.3, 0.6)}
    balance = {"slope": slope, "offset": offset, "power": power}
    light = {"flare": rng.uniform(-0.1, 0.15, 3).tolist(), "flare_in_code": 1} if rng.random() < 0.5 else {}
    return {"light": light, "balance": balance, "levels": levels, "saturation": rng.uniform(0, 2)}


def test_random_corrections_within_reach(tmp_path: Path) -> None:
    """Equal within one code at 16 bit, from each of the three forms, and the same numbers come back."""
    day, hand, again = (tmp_path / name for name in ("day", "hand", "again"))
    rng = np.random.default_rng(12)
    names = [f"quay_{number:03}" for number in range(many(10, 500))]
    for name in names:
        decide(day / f"{name}.tif", SMALL, within_reach(rng))
        again.mkdir(exist_ok=True)
        (again / f"{name}.tif").write_bytes((day / f"{name}.tif").read_bytes())
    told = json.loads(poise("export", day, "--to", "cdl", "--strict", "--out", hand, "--json").stdout)
    assert len(told["written"]) == len(names) + 2
    for number, (name, shot) in enumerate(zip(names, told["shots"], strict=True)):
        assert (shot["id"], shot["exact"]) == (name, True)
        file = hand / (f"{name}.cc", "day.ccc", "day.cdl")[number % 3]
        theirs = by_opencolorio(file, name, SMALL)
        ours = applied(day / f"{name}.tif", tmp_path / "out" / "quay.tif")
        assert np.abs(ours.astype(int) - theirs.astype(int)).max() <= 1
    poise("import", hand / "day.cdl", "--onto", again)
    for name, shot in zip(names, told["shots"], strict=True):
        found = load(again / f"{name}.tif.poise.json").correction
        numbers = [list(triple) for triple in (found.balance.slope, found.balance.offset, found.balance.power)]
        assert numbers == [shot["slope"], shot["offset"], shot["power"]]
        transform = ocio.CDLTransform.CreateFromFile(str(hand / f"{name}.cc"), name)
        assert [*numbers[0], *numbers[1], *numbers[2], found.saturation] == [*transform.getSOP(), transform.getSat()]
    first = applied(again / f"{names[0]}.tif", tmp_path / "out" / "again.tif")
    assert np.array_equal(first, applied(day / f"{names[0]}.tif", tmp_path / "out" / "first.tif"))


HUE = {"low": 60, "high": 160, "soft": 20}
MATTE = {"name": "cup", "hue": HUE, "chroma": {"low": 0.05}, "inside": {"exposure": 0.5}}
BEYOND: dict[str, tuple[dict[str, Any], dict[str, str], str]] = {
    "light": ({"light": {"exposure": 0.4, "warmth": 60, "magenta": 5}, "saturation": 1.2}, {}, "light"),
    "tone": ({"tone": {"toe": 0.5, "shoulder": -0.4}, "levels": {"black": 0.05}}, {}, "tone"),
    "curves": ({"curves": {"master": [[0, 0], [0.3, 0.2], [0.7, 0.8], [1, 1]]}}, {}, "curves"),
    "mattes": ({"mattes": [MATTE], "balance": {"slope": [1.1, 1, 0.9]}}, {}, "mattes"),
    "transfer": ({"saturation": 1.1}, {"source": "ITU-R BT.709"}, "conversion from ITU-R BT.709 to sRGB"),
    "primaries": ({}, {"delivery_primaries": "Display P3"}, "conversion from ITU-R BT.709 to Display P3"),
}
USUAL = ("curves", "mattes", "transfer")


@pytest.mark.parametrize(("name", "deep"), [*((name, True) for name in many(USUAL, tuple(BEYOND))), ("light", False)])
def test_the_residual_that_is_stated_is_the_one_that_is_measured(tmp_path: Path, name: str, deep: bool) -> None:
    correction, encoding, part = BEYOND[name]
    picture = COFFEE.astype(np.uint16) * 257 if deep else COFFEE
    source = tmp_path / "day" / "quay_02.tif"
    decide(source, picture, correction, **({"encoding": encoding} if encoding else {}))
    (shot,) = json.loads(poise("export", source, "--to", "cdl", "--out", tmp_path / "hand", "--json").stdout)["shots"]
    assert (shot["exact"], shot["unfit"]) == (False, [part])
    theirs = by_opencolorio(tmp_path / "hand" / "quay_02.cc", "quay_02", picture)
    ours = applied(source, tmp_path / "out" / "quay_02.tif")
    apart = np.abs(ours.astype(int) - theirs.astype(int))
    assert apart.mean() == pytest.approx(shot["off"]["mean"], rel=0.05)
    assert apart.max() == pytest.approx(shot["off"]["worst"], rel=0.05)
    assert shot["off"]["of"] == (65535 if deep else 255)
    said = (tmp_path / "hand" / "quay_02.cc").read_text()
    found = re.search(r"this: (.+); off by (\S+) codes on average, (\S+) at worst, of (\d+), on quay_02.tif<", said)
    assert found
    assert found[1] == part
    assert apart.mean() == pytest.approx(float(found[2]), rel=0.05)
    # the nearest is nearer than to leave the rest out, and than to do nothing
    assert apart.mean() < np.abs(ours.astype(int) - picture).mean()


BENT = {"slope": [1.2, 1, 0.9], "offset": [-0.1, 0, 0.1], "power": [0.8, 1, 1.3]}


@pytest.mark.parametrize(
    ("correction", "encoding", "exact"),
    [
        ({"balance": BENT, "saturation": 1.4}, "sRGB", True),
        ({"light": {"exposure": 0.5, "warmth": 30}}, "linear", False),
        ({"levels": {"black": 0.05, "contrast": 1.2}}, "linear", False),
    ],
)
def test_float_is_not_clamped(tmp_path: Path, correction: dict[str, Any], encoding: str, exact: bool) -> None:
    """A float picture from -0.1 to 3: OpenColorIO's no-clamp style, where a negative base skips power."""
    picture = (COFFEE.astype(np.float32) / 255 - 0.03) * 3
    source = tmp_path / "day" / "quay_02.tif"
    decide(source, picture, correction, encoding={"source": encoding, "delivery": encoding})
    (shot,) = json.loads(poise("export", source, "--to", "cdl", "--out", tmp_path / "hand", "--json").stdout)["shots"]
    theirs = by_opencolorio(tmp_path / "hand" / "quay_02.cc", "quay_02", picture)
    apart = np.abs(applied(source, tmp_path / "out" / "quay_02.tif") - theirs)
    assert shot["exact"] is exact
    if exact:
        assert apart.max() < 1e-5
        return
    assert apart.mean() == pytest.approx(shot["off"]["mean"], rel=0.05)
    assert apart.max() == pytest.approx(shot["off"]["worst"], rel=0.05)
    assert shot["off"]["of"] == 1
