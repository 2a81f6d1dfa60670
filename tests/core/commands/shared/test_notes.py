"""The stamp for outputs, and notes of what they could not keep, as `apply` tells them."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
import skimage.data
from click.testing import CliRunner
from PIL import Image, ImageCms

from poise import __version__
from poise.batch.fingerprint import mark, recipe
from poise.batch.plan import Job
from poise.commands import main
from poise.correction import Correction

pytestmark = pytest.mark.usefixtures("in_this_process")

SIDECAR = json.dumps({"poise": 1, "correction": {"saturation": 0.8}})
ICC = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """Two photographs (skimage.data) with an ICC profile, which DPX has no place for."""
    for name in ("cat", "coffee"):
        path = tmp_path / "day" / f"{name}.png"
        path.parent.mkdir(exist_ok=True)
        Image.fromarray(getattr(skimage.data, name)()[:30, :40]).save(path, icc_profile=ICC)
        path.with_name(path.name + ".poise.json").write_text(SIDECAR)
    return tmp_path / "day"


def test_a_stamp_names_the_program_and_leads_to_the_manifest() -> None:
    job = Job(Path("a.tif"), Path("out/a.tif"), Correction(saturation=0.8), None, "tiff", None)
    assert mark(job) == f"poise {__version__} correction {recipe(job)[:16]}, full range"
    assert mark(replace(job, correction=Correction(saturation=0.7))) != mark(job)
    plain = replace(job, stamp=False)
    assert mark(plain) is None
    assert recipe(plain) != recipe(job)  # so that asking for the other makes outputs anew


def test_no_stamp_leaves_it_out_and_is_another_setting(day: Path) -> None:
    """Read back by Pillow: the Software tag is 305 in TIFF 6.0."""
    out = day.parent / "out"
    args = ["apply", str(day), "--out", str(out), "--format", "tiff", "--workers", "1"]

    def software() -> list[str | None]:
        said = []
        for name in ("cat", "coffee"):
            with Image.open(out / f"{name}.tif") as picture:
                said.append(picture.getexif().get(305))
        return said

    assert CliRunner().invoke(main, args).exit_code == 0
    recipes = [json.loads(line)["recipe"] for line in (out / "poise-manifest.jsonl").read_text().splitlines()]
    assert software() == [f"poise {__version__} correction {hashed[:16]}, full range" for hashed in recipes]
    again = CliRunner().invoke(main, [*args, "--no-stamp"])
    assert "written again: its decision, its settings or the version of poise changed" in again.stderr
    assert software() == [None, None]


def test_what_a_format_has_no_place_for_is_told_once_a_folder(day: Path) -> None:
    args = ["apply", str(day), "--out", str(day.parent / "out"), "--format", "dpx", "--workers", "1"]
    result = CliRunner().invoke(main, args)
    assert result.exit_code == 0
    notes = [line for line in result.stderr.splitlines() if line.startswith("note: ")]
    assert notes == [f"note: {day / 'cat.png'}: not kept in DPX: ICC profile (and 1 more in this folder)"]
    result = CliRunner().invoke(main, [*args, "--progress", "json", "--no-stamp"])
    events = [json.loads(line) for line in result.stderr.splitlines() if line.startswith("{")]
    done = [event for event in events if event["event"] == "done"]
    assert [event["notes"] for event in done] == [["not kept in DPX: ICC profile"]] * 2
