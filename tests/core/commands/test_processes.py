"""Shots in processes: told in their order, and a codec that crashes costs its own shot."""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.batch.pool import in_order
from poise.commands import auto, exporting, main, match, measure
from poise.commands.shared.output import problem
from poise.errors import FileError, PoiseError

WORK = """
import ctypes, os, time
from poise.commands import auto, exporting, match, measure

def crash(name):
    if "ferry" in name:
        ctypes.string_at(0)  # a real fault of addressing

def to_auto(job, ten, real=auto.starting_point_or_not):
    crash(job.one.path.name)
    return real(job, ten)

def to_match(job, real=match.matched_or_not):
    crash(job.one.path.name)
    return real(job)

def to_export(express, job, real=exporting._expressed_or_not):
    crash(job.one.path.name)
    return real(express, job)

def to_measure(look, real=measure.measured):
    crash(look.file.name)
    return real(look)

def the_first_last(job):
    time.sleep(0.6 if job == 0 else 0)
    return job, os.getpid()
"""


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], Any]:
    """Functions that are importable by name in a process of its own, as those of test modules are not."""
    (tmp_path / "harbour_work.py").write_text(WORK)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "harbour_work", raising=False)
    import harbour_work

    return lambda name: getattr(harbour_work, name)


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    for number, name in enumerate(("buoy", "ferry", "lighthouse", "quay")):
        Image.fromarray(skimage.data.astronaut()[number : number + 48, :64]).save(folder / f"{name}.png")
    return folder


def test_results_come_in_the_order_of_the_jobs(work: Callable[[str], Any]) -> None:
    found = list(in_order(work("the_first_last"), range(6), 2, 60.0))
    assert [job for job, _ in found] == [job for _, (job, _) in found] == list(range(6))
    assert 1 < len({process for _, (_, process) in found}) <= 2


@pytest.mark.parametrize(
    ("module", "name", "command"),
    [
        (auto, "starting_point_or_not", ("auto", "{day}")),
        (match, "matched_or_not", ("match", "{day}", "--to", "{day}/quay.png")),
        (measure, "measured", ("measure", "{day}")),
        (exporting, "_expressed_or_not", ("export", "{day}", "--to", "cdl", "--all", "--out", "{day}/../hand")),
    ],
    ids=["auto", "match", "measure", "export"],
)
def test_a_codec_that_crashes_costs_its_own_shot(
    module: Any, name: str, command: tuple[str, ...], day: Path, work: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, name, work(f"to_{command[0]}"))
    ran = poise(*(part.format(day=day) for part in command), "--workers", 2)
    assert ran.exit_code == 1
    told = [line for line in ran.stderr.splitlines() if line.startswith("poise: ")]
    assert told == [f"poise: {day}/ferry.png: its process was ended by SIGSEGV, a fault in a codec"]
    places = [ran.stdout.index(f"{day}/{name}.png") for name in ("buoy", "lighthouse")]
    assert places == sorted(places)
    assert f"{day}/ferry.png" not in ran.stdout
    if command[0] == "auto":
        assert sorted(path.name for path in day.glob("*.json")) == [
            f"{name}.png.poise.json" for name in ("buoy", "lighthouse", "quay")
        ]


def test_json_lists_shots_in_order(day: Path) -> None:
    found = json.loads(poise("measure", day, "--json", "--workers", 3).stdout)
    assert [entry["file"] for entry in found] == [
        f"{day}/{name}.png" for name in ("buoy", "ferry", "lighthouse", "quay")
    ]


def test_faults_travel_as_path_and_reason() -> None:
    path = Path("day/quay.tif")
    assert problem(path, FileError(path, "it is empty")) == (path, "it is empty")
    assert problem(path, FileError("day/quay.tif.poise.json", "torn")) == (Path("day/quay.tif.poise.json"), "torn")
    assert problem(path, PoiseError("no such curve")) == (path, "no such curve")
    assert problem(path, KeyError("fog")) == (path, "an unforeseen fault (KeyError: 'fog')")
