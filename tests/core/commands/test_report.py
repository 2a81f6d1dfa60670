"""`poise report` as a command: what it refuses, what it leaves alone, and that its record proves."""

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import skimage.data
import xxhash
from harbour_reel import decide, poise
from PIL import Image

from poise.report import gather


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """Three small shots, one of them decided about."""
    folder = tmp_path / "day"
    folder.mkdir()
    photograph = skimage.data.chelsea()[::6, ::6]
    for number, gain in enumerate((1.0, 0.7, 0.5), 1):
        Image.fromarray((photograph * gain).astype(np.uint8)).save(folder / f"quay_{number}.png")
    decide(folder / "quay_2.png", levels={"black": 0.02, "white": 0.8})
    return folder


@pytest.mark.usefixtures("in_this_process")
def test_nothing_to_report_or_nowhere_to_write_is_wrong_usage(day: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "made.html").mkdir()
    wrong = {
        "no pictures in this folder": (tmp_path / "empty", "--out", tmp_path / "day.html"),
        "no such file or folder": (tmp_path / "gone", "--json"),
        "nothing to write": (day,),
        "no such folder; create it first": (day, "--out", tmp_path / "gone" / "day.html"),
        "this is not a regular file": (day, "--out", tmp_path / "made.html"),
        "choose a name that ends in .html": (day, "--out", day / "quay_2.png.poise.json"),
        "no such set of limits": (day, "--json", "--limits", "harbour"),
        "name the folder that poise apply wrote to": (day, "--json", "--outputs", day),
    }
    before = {path: path.read_bytes() for path in day.iterdir()}
    for words, call in wrong.items():
        result = poise("report", *call)
        assert (result.exit_code, result.stdout) == (2, ""), words
        assert words in result.stderr
        assert result.stderr.count("\n") == 1
    assert {path: path.read_bytes() for path in day.iterdir()} == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day", "empty", "made.html"]


@pytest.mark.usefixtures("in_this_process")
def test_a_sheet_takes_the_place_of_another_and_says_how_large_it_is(day: Path, tmp_path: Path) -> None:
    out = tmp_path / "day.html"
    out.write_text("yesterday")
    node = out.stat().st_ino
    result = poise("report", day, "--out", out, "--workers", 1, "--title", "Tide & <time>")
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr == f"3 shots in {out}, {out.stat().st_size / 1e3:.1f} kB\n"
    assert out.stat().st_ino != node
    assert b"<title>Tide &amp; &lt;time&gt;</title>" in out.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day", "day.html"]


@pytest.mark.usefixtures("in_this_process")
def test_a_link_in_its_place_is_replaced_and_what_it_leads_to_is_not_touched(day: Path, tmp_path: Path) -> None:
    out, source = tmp_path / "day.html", day / "quay_1.png"
    content = source.read_bytes()
    out.symlink_to(source)
    assert poise("report", day, "--out", out, "--workers", 1).exit_code == 0
    assert not out.is_symlink()
    assert source.read_bytes() == content


def test_a_full_disk_leaves_the_old_sheet_and_nothing_else(day: Path, tmp_path: Path) -> None:
    out = tmp_path / "day.html"
    out.write_text("yesterday")
    code = (
        "import resource; from poise.commands import main; "
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)); main()"  # a write beyond fails
    )
    result = subprocess.run(
        [sys.executable, "-c", code, "report", str(day), "--out", str(out), "--workers", "1"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 1
    assert result.stderr.startswith(f"poise: {out}: can't be written: ")
    assert "Traceback" not in result.stderr
    assert out.read_text() == "yesterday"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day", "day.html"]


def test_interrupted_it_leaves_nothing(day: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = gather.examine_shots

    def pressed(*given: Any) -> Iterator[tuple[int, Any]]:
        for number, found in enumerate(real(*given)):
            yield found
            if number == 0:
                os.kill(os.getpid(), signal.SIGINT)

    monkeypatch.setattr(gather, "examine_shots", pressed)
    result = poise("report", day, "--out", tmp_path / "day.html", "--workers", 1)
    assert result.exit_code == 130
    assert result.stderr.endswith("poise: interrupted; finished files are kept\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day"]


@pytest.mark.usefixtures("in_this_process")
def test_check_confirms_what_was_reported_and_finds_what_was_changed(day: Path, tmp_path: Path) -> None:
    made = tmp_path / "made"
    name = os.fsdecode(b"caf\xe9.png")
    Image.fromarray(np.full((4, 4, 3), 99, np.uint8)).save(os.fsencode(day / name), "PNG")
    assert poise("apply", day, "--out", made, "--all", "--workers", 1).exit_code == 0
    printed = poise("report", day, "--json", "--outputs", made, "--workers", 1)
    record = json.loads(printed.stdout)
    files = {entry["source"]: entry for entry in record["files"]}
    assert {files[one]["output"] for one in ("quay_2.png", name)} == {"quay_2.png", name}
    for entry in record["files"]:
        assert entry["hash"] == xxhash.xxh3_128_hexdigest((day / entry["source"]).read_bytes())
        if "output" in entry:
            assert entry["output_hash"] == xxhash.xxh3_128_hexdigest((made / entry["output"]).read_bytes())
    proof = tmp_path / "record.json"
    proof.write_text(printed.stdout)
    held = poise("check", day, "--against", proof, "--out", made, "--json")
    assert (held.exit_code, json.loads(held.stdout)) == (0, []), held.stdout + held.stderr
    (made / "quay_1.png").write_bytes((made / "quay_3.png").read_bytes())
    decide(day / "quay_2.png", levels={"black": 0.02, "white": 0.9})
    held = poise("check", day, "--against", proof, "--out", made, "--json")
    assert held.exit_code == 1
    assert {(Path(fault["file"]).name, fault["fault"]) for fault in json.loads(held.stdout)} == {
        ("quay_1.png", "changed"),
        ("quay_2.png", "changed"),
    }


def test_its_faults_are_those_of_check_however_many_processes_look(day: Path, tmp_path: Path) -> None:
    made = tmp_path / "made"
    assert poise("apply", day, "--out", made, "--workers", 1).exit_code == 0
    decide(day / "quay_2.png", levels={"black": 0.02, "white": 0.5})
    shutil.copy(day / "quay_1.png", day / "quay_4.png")
    (day / "quay_4.png.poise.json").write_text("{")  # what nobody knows how to deliver is not delivered
    for frame in (1001, 1002, 1005):
        Image.fromarray(np.full((8, 8, 3), 20 * (frame - 1000), np.uint8)).save(day / f"ferry.{frame}.png")
    reports = [
        json.loads(poise("report", day, "--json", "--outputs", made, "--frames", "all", "--workers", n).stdout)
        for n in (1, 2)
    ]
    assert {**reports[0], "at": ""} == {**reports[1], "at": ""}
    checked = poise("check", day, "--out", made, "--frames", "all", "--workers", 1, "--json")
    (broken,) = [shot for shot in reports[0]["shots"] if "trouble" in shot]
    assert (Path(broken["file"]).name, broken["faults"]) == ("quay_4.png", [])
    faults = [fault for shot in reports[0]["shots"] for fault in shot["faults"]]

    def ordered(found: list[dict[str, Any]]) -> list[str]:
        return sorted(map(json.dumps, found))

    told = json.loads(checked.stdout)
    assert ordered(faults) == ordered([one for one in told if one["fault"] != "sidecar"])
    assert len(faults) == len(told) - 1
    assert {"gap", "stale", "clipped"} <= {fault["fault"] for fault in faults}


@pytest.mark.usefixtures("in_this_process")
def test_sidecars_may_stand_elsewhere(day: Path, tmp_path: Path) -> None:
    apart = tmp_path / "apart"
    apart.mkdir()
    (day / "quay_2.png.poise.json").rename(apart / "quay_1.png.poise.json")
    shots = json.loads(poise("report", day, "--json", "--workers", 1, "--sidecars", apart).stdout)["shots"]
    assert [shot["state"] for shot in shots] == ["balanced", "new", "new"]
    assert shots[0]["readings"]["after"]["luma"]["white"] > shots[0]["readings"]["before"]["luma"]["white"]
