"""A clip as a shot: listed with its frames, measured under its tags, and applied as numbered pictures."""

import json
import pickle
from pathlib import Path

import clips
import numpy as np
import pytest
from click.testing import CliRunner, Result

from poise.commands import main
from poise.frames import read, scan
from poise.frames.clip_frame import ClipFrame
from poise.sidecar import load

pytestmark = pytest.mark.usefixtures("in_this_process")

CODES = [200, 400, 600, 800, 940]


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def day(tmp_path: Path) -> Path:
    (tmp_path / "day").mkdir()
    frames = clips.greys(CODES, "yuv422p10le")
    clips.clip(tmp_path / "day" / "quay_04.mkv", "ffv1", "yuv422p10le", frames, colorspace=1, color_trc=1)
    return tmp_path / "day"


def test_a_clip_is_listed_once_with_its_frames(day: Path) -> None:
    (day / "quay_05.mov").write_bytes(b"\0\0\0\x08ftyp")
    clip, broken = scan([day]).shots
    assert (clip.name, clip.numbers, clip.frame_range) == ("quay_04.mkv", (1, 2, 3, 4, 5), (1, 5))
    assert clip.sidecar_path == day / "quay_04.mkv.poise.json"
    assert (clip.first.parent, clip.relative(clip.first)) == (day, Path("quay_04.mkv"))
    assert (broken.files, broken.numbers) == ((day / "quay_05.mov",), ())  # what reads it says why it can't be read
    assert scan([day], stills=True).shots[0] == clip


def test_a_frame_is_a_path_that_keeps_its_number_in_another_process(day: Path) -> None:
    one, two = ClipFrame.of(day / "quay_04.mkv", 1), ClipFrame.of(day / "quay_04.mkv", 2)
    assert pickle.loads(pickle.dumps(two)) == two != one
    assert {one, two, ClipFrame.of(str(day / "quay_04.mkv"), 2)} == {one, two}
    assert (two.parent, two.with_suffix(".tif").name, two.stat()) == (day, "quay_04.tif", one.stat())
    assert two.parent in {day}
    assert pickle.loads(pickle.dumps(two.parent)) == day
    assert two != day / "quay_04.mkv"
    assert day / "quay_04.mkv" != two


def test_measure_reads_narrow_codes_as_the_tags_say(day: Path) -> None:
    found = json.loads(poise("measure", day, "--frames", "all", "--json").stdout)[0]
    assert (found["frames"], found["frame"], found["depth"]) == (5, 1, "10")
    over = [frame["readings"]["luma"]["median"] for frame in found["over"]]
    # code values of narrow range: ITU-R BT.709-6, item 5
    assert over == pytest.approx([100 * (code - 64) / 876 for code in CODES], abs=0.1)


def test_apply_writes_numbered_pictures_at_the_clip_s_depth(day: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = poise("apply", day, "--out", out, "--all", "--format", "tiff")
    assert first.exit_code == 0, first.output
    names = [f"quay_04.{number:04}.tif" for number in range(1, 6)]
    assert sorted(path.name for path in out.glob("*.tif")) == names
    for name, code in zip(names, CODES, strict=True):
        frame = read(out / name)
        assert frame.depth.bits == 10
        assert np.unique(frame.pixels).tolist() == [code]
    assert "5 frames in" in poise("apply", day, "--out", out, "--all", "--format", "tiff", "--verify").stderr
    assert scan([out]).shots[0].name == "quay_04.####.tif"
    records = [json.loads(line) for line in (out / "poise-manifest.jsonl").read_text().splitlines()]
    assert {record["range"] for record in records} == {"narrow"}


def test_apply_to_linear_half_gives_the_light_of_the_codes(day: Path, tmp_path: Path) -> None:
    done = poise("apply", day, "--out", tmp_path / "out", "--all", "--format", "exr", "--depth", "half")
    assert done.exit_code == 0, done.output
    # ITU-R BT.1886, annex 1, is for displays; BT.709-6, item 1.2, inverted: L = ((V + 0.099) / 1.099) ^ (1 / 0.45)
    for number, code in enumerate(CODES, 1):
        light = (((code - 64) / 876 + 0.099) / 1.099) ** (1 / 0.45)
        found = read(tmp_path / "out" / f"quay_04.{number:04}.exr").pixels
        assert float(found[0, 0, 0]) == pytest.approx(light, rel=2e-3)


def test_a_decision_names_one_frame_and_reports_know_the_outputs(day: Path, tmp_path: Path) -> None:
    assert poise("auto", day, "--workers", 1).exit_code == 0
    decided = load(day / "quay_04.mkv.poise.json")
    assert (decided.shot.file, decided.shot.frames) == ("quay_04.mkv", (1, 5))
    assert poise("apply", day, "--out", tmp_path / "out", "--format", "tiff").exit_code == 0
    done = poise(
        "report", day, "--out", tmp_path / "day.html", "--outputs", tmp_path / "out", "--json", "--frames", "all"
    )
    record = json.loads(done.stdout)
    assert len({entry["output"] for entry in record["files"]}) == 5
    assert {entry["source"] for entry in record["files"]} == {"quay_04.mkv"}
    (tmp_path / "record.json").write_text(done.stdout)
    against = poise("check", day, "--against", tmp_path / "record.json", "--out", tmp_path / "out")
    assert against.exit_code == 0, against.output


def test_a_broken_clip_is_one_line_and_the_others_go_on(day: Path, tmp_path: Path) -> None:
    (day / "quay_05.mov").write_bytes(b"\0\0\0\x08ftyp")
    done = poise("apply", day, "--out", tmp_path / "out", "--all", "--format", "tiff")
    assert done.exit_code == 1
    why = "the movie has no index (moov): its recording was not finished; copy or export it again"
    told = [line for line in done.stderr.splitlines() if "quay_05" in line]
    assert told == [f"poise: {day / 'quay_05.mov'}: {why}"]
    assert len(list((tmp_path / "out").glob("quay_04.*.tif"))) == 5
