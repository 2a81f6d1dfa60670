"""Outputs held against sources and decisions, by the batch's own rule."""

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
import skimage.data
from PIL import Image

from poise.batch.plan import Job, Target, plan
from poise.batch.run import Result, run
from poise.batch.stop import Stop
from poise.batch.worker import process_frame
from poise.correction import Correction
from poise.delivery.outputs import faults, folders_below
from poise.frames import Shot, scan
from poise.sidecar import Decision

DECIDED = Decision(Correction(saturation=0.8))


def alone(jobs: Iterable[Job], stop: Stop) -> Iterator[Result]:
    """In this process."""
    for job in jobs:
        yield job, process_frame(job)


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """A cat, a cup and two frames of a rocket (skimage.data)."""
    folder = tmp_path / "day"
    folder.mkdir()
    for name in ("cat.png", "coffee.png", "rocket.0001.png", "rocket.0002.png"):
        Image.fromarray(getattr(skimage.data, name.split(".")[0])()[:60, :80]).save(folder / name)
    return folder


def shots(day: Path, decision: Decision | None = DECIDED) -> list[tuple[Shot, Decision | None]]:
    return [(shot, decision) for shot in scan([day]).shots]


def applied(day: Path, **settings: object) -> Path:
    target = Target(day / "out", **settings)
    assert run(plan(shots(day), target), alone, lambda outcome: None).done
    return target.folder


def named(day: Path, folder: Path, decision: Decision | None = DECIDED, verify: bool = False) -> dict[str, str]:
    return {Path(one.file).name: one.fault for one in faults(shots(day, decision), folder, verify)}


@pytest.mark.parametrize("settings", [{}, {"format": "tiff", "depth": "16"}, {"format": "tiff", "stamp": False}])
def test_what_stands_is_no_fault_whatever_it_was_made_as(day: Path, settings: dict[str, object]) -> None:
    folder = applied(day, **settings)
    assert folders_below([day]) == [folder]
    assert named(day, folder) == {}


def test_outputs_of_a_format_that_is_only_read_are_known_again(tmp_path: Path) -> None:
    (folder := tmp_path / "day").mkdir()
    for name in ("cat.webp", "coffee.bmp"):
        Image.fromarray(getattr(skimage.data, name.split(".")[0])()[:60, :80]).save(folder / name)
    out = applied(folder)
    assert sorted(path.name for path in out.glob("*.png")) == ["cat.png", "coffee.png"]
    assert named(folder, out) == {}
    (out / "cat.png").unlink()
    assert set(named(folder, out)) == {"cat.webp"}


def test_outputs_that_are_not_there_are_missing(day: Path) -> None:
    folder = applied(day)
    (folder / "cat.png").unlink()
    (folder / "rocket.0002.png").unlink()
    found = {Path(one.file).name: one for one in faults(shots(day), folder)}
    assert {name: (one.fault, one.value) for name, one in found.items()} == {
        "cat.png": ("missing", 1),
        "rocket.####.png": ("missing", 1),
    }
    assert found["rocket.####.png"].words.startswith("1 of 2 frames, from rocket.0002.png on: there is no output")


def test_another_decision_and_another_source_make_outputs_stale(day: Path) -> None:
    folder = applied(day)
    assert set(named(day, folder, Decision(Correction(saturation=0.7))).values()) == {"stale"}
    Image.fromarray(skimage.data.cat()[60:120, :80]).save(day / "cat.png")
    assert named(day, folder) == {"cat.png": "stale"}


def test_a_changed_output_is_damaged_however_well_its_times_are_kept(day: Path) -> None:
    folder = applied(day)
    path, times = folder / "cat.png", os.stat(folder / "cat.png")
    content = bytearray(path.read_bytes())
    content[-30] ^= 1
    path.write_bytes(content)
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert named(day, folder) == named(day, folder, verify=True) == {"cat.png": "damaged"}


def test_what_was_never_recorded_is_stale(day: Path) -> None:
    folder = day.parent / "out"
    folder.mkdir()
    Image.new("RGB", (80, 60)).save(folder / "cat.png")
    assert named(day, folder) == {"cat.png": "stale", "coffee.png": "missing", "rocket.####.png": "missing"}


def test_shots_without_a_decision_or_held_need_no_output(day: Path) -> None:
    (day / "out").mkdir()
    assert named(day, day / "out", None) == named(day, day / "out", Decision(state="held")) == {}
