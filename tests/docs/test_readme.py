"""The README tells the truth: its commands run, its tables are those of the program, its files exist."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from poise.correction import CONTROLS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(name: str) -> str:
    found = re.search(rf"<!-- {name} -->\n(.*?)<!-- end -->", README, re.DOTALL)
    assert found, f"README has no part {name!r}"
    return found[1]


def controls_table() -> str:
    def number(value: float) -> str:
        return f"{value:.3f}".rstrip("0").rstrip(".")

    rows = [
        f"| `{c.path}` | {c.name} | {c.unit} | {number(c.neutral)} | {number(c.low)} .. {number(c.high)} |\n"
        for c in CONTROLS
    ]
    return "| key below `correction` | what | unit | neutral | limits |\n|---|---|---|---|---|\n" + "".join(rows)


def test_the_controls_are_those_of_the_model() -> None:
    assert block("controls").strip() == controls_table().strip()


def test_linked_files_exist() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


def test_the_fresh_machine_commands_are_two() -> None:
    lines = [line for line in block("fresh machine").splitlines() if not line.startswith("```")]
    assert len(lines) == 2
    assert lines[0].startswith("python3.11 -m venv .venv && .venv/bin/pip install")
    assert lines[1].endswith("-m pytest")


@pytest.fixture(scope="module")
def reel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("walk")
    run = poise(["demo", "poise_demo"], folder)
    assert run.returncode == 0, run.stderr
    return folder


def poise(arguments: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from poise.commands import main; main()", *arguments]
    environment = {**os.environ, "PYTHONWARNINGS": "ignore"}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, timeout=120)


def test_the_five_minute_walk_runs(reel: Path) -> None:
    for line in block("walk").splitlines():
        if line.startswith("poise "):
            run = poise(shlex.split(line)[1:], reel)
            assert run.returncode == 0, (line, run.stderr)
            assert "Traceback" not in run.stderr
    balanced = {p.name for p in (reel / "balanced").rglob("*") if p.suffix in {".png", ".tif", ".exr", ".jpg"}}
    assert {"market_03.tif", "slipway_08.exr", "harbour_09.jpg", "ferry_night.0105.png"} <= balanced


def test_every_command_of_the_table_has_help(tmp_path: Path) -> None:
    names = re.findall(r"^\| `poise (\w+)", README, re.MULTILINE)
    assert set(names) == {"demo", "show", "measure", "auto", "copy", "reset", "apply"}
    for name in names:
        run = poise([name, "--help"], tmp_path)
        assert run.returncode == 0
        assert "Example" in run.stdout, name


def test_the_sidecar_of_the_readme_is_taken(reel: Path) -> None:
    written = re.search(r'^\{"poise": 1, .*\}$', README, re.MULTILINE)
    assert written
    (reel / "poise_demo" / "quay_01.tif.poise.json").write_text(written[0], encoding="utf-8")
    run = poise(["apply", "poise_demo/quay_01.tif", "--out", "by_hand"], reel)
    assert run.returncode == 0, run.stderr
    assert (reel / "by_hand" / "quay_01.tif").exists()
