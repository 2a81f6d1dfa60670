"""A second run does only what changed: decisions, settings, sources and outputs, as their content has it."""

import os
import shutil
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import skimage.data
from PIL import Image

from poise.batch.manifest import read
from poise.batch.plan import Job, Plan, Target, plan
from poise.batch.run import Outcome, Result, Summary, outstanding, run
from poise.batch.stop import Stop
from poise.batch.worker import process_frame
from poise.correction import Correction
from poise.frames import scan
from poise.sidecar import Decision

NAMES = ["cat.png", "coffee.png", "pier/rocket.png"]


def alone(jobs: Iterable[Job], stop: Stop) -> Iterator[Result]:
    """In this process."""
    for job in jobs:
        yield job, process_frame(job)


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """Three photographs (skimage.data)."""
    folder = tmp_path / "day"
    (folder / "pier").mkdir(parents=True)
    for name in NAMES:
        picture = getattr(skimage.data, Path(name).stem)()
        Image.fromarray(picture[:60, :80]).save(folder / name)
    return folder


def planned(day: Path, saturation: float = 0.8, **settings: str) -> Plan:
    decision = Decision(Correction(saturation=saturation))
    shots = scan([day]).shots
    return plan([(shot, decision) for shot in shots], Target(day.parent / "out", **settings))


def ran(plan: Plan, **how: bool) -> Summary:
    outcomes: list[Outcome] = []
    summary = run(plan, alone, outcomes.append, **how)
    assert [one.reason for one in outcomes if one.result is None] == []
    return summary


def done(summary: Summary) -> list[str]:
    return [file.name for file in summary.done]


ALL = ["cat.png", "coffee.png", "rocket.png"]


def test_the_second_run_does_nothing(day: Path) -> None:
    assert done(ran(planned(day))) == ALL
    before = {path: path.stat() for path in (day.parent / "out").rglob("*.png")}
    second = ran(planned(day))
    assert (done(second), len(second.unchanged)) == ([], 3)
    assert {path: path.stat() for path in before} == before
    assert sorted(read(day.parent / "out")) == NAMES


def test_a_changed_decision_or_setting_is_done_again(day: Path) -> None:
    ran(planned(day))
    again = ran(planned(day, 0.7))
    assert done(again) == ALL
    assert "decision" in again.renewed[0][1]
    assert done(ran(planned(day, 0.7, depth="16"))) == ALL


def test_one_changed_decision_costs_one_frame(day: Path) -> None:
    first = planned(day)
    ran(first)
    other = replace(first.jobs[1], correction=Correction(saturation=0.5))
    assert done(ran(replace(first, jobs=(first.jobs[0], other, first.jobs[2])))) == ["coffee.png"]


def test_a_source_replaced_under_its_name_is_noticed(day: Path) -> None:
    ran(planned(day))
    cat = day / "cat.png"
    there = cat.stat()
    content = bytearray(cat.read_bytes())
    content[-20] ^= 1
    for keep_time in (False, True):
        (day.parent / "new").write_bytes(content)
        os.replace(day.parent / "new", cat)
        if keep_time:
            os.utime(cat, ns=(there.st_atime_ns, there.st_mtime_ns))
        assert [job.file.name for job in outstanding(planned(day)).jobs] == ["cat.png"]


def test_a_source_that_was_only_touched_is_not_done_again(day: Path) -> None:
    ran(planned(day))
    os.utime(day / "cat.png")
    shutil.copyfile(day / "coffee.png", day / "copy")
    os.replace(day / "copy", day / "coffee.png")
    assert done(ran(planned(day))) == []


@pytest.mark.parametrize("how", ["gone", "changed", "cut short"])
def test_an_output_that_was_damaged_is_made_again(day: Path, how: str) -> None:
    ran(planned(day))
    path = day.parent / "out" / "cat.png"
    content = path.read_bytes()
    if how == "gone":
        path.unlink()
    else:
        path.write_bytes(content[:-9] if how == "cut short" else content[:-9] + bytes(9))
    again = ran(planned(day))
    assert done(again) == ["cat.png"]
    assert "output" in again.renewed[0][1]
    assert path.read_bytes() == content


def test_verify_reads_what_the_file_system_says_is_the_same(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ran(planned(day))
    path = day.parent / "out" / "cat.png"
    known = path.stat()
    content = path.read_bytes()
    path.write_bytes(content[:-9] + bytes(9))
    real = os.stat

    def rotten(file: Path, *arguments: object, **more: object) -> os.stat_result:
        return known if Path(file) == path else real(file, *arguments, **more)  # type: ignore[arg-type]

    monkeypatch.setattr("poise.stamp.os.stat", rotten)
    assert done(ran(planned(day))) == []
    assert done(ran(planned(day), verify=True)) == ["cat.png"]


def test_fresh_does_everything(day: Path) -> None:
    ran(planned(day))
    assert done(ran(planned(day), fresh=True)) == ALL


def test_records_of_other_outputs_are_kept(day: Path) -> None:
    whole = planned(day)
    ran(whole)
    ran(replace(planned(day, 0.5), jobs=planned(day, 0.5).jobs[:1]))
    assert sorted(read(day.parent / "out")) == NAMES
    assert len(ran(replace(whole, jobs=whole.jobs[1:])).unchanged) == 2
