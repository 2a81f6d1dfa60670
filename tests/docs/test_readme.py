"""README and manual tell the truth: their commands run, their tables are those of the program, their files exist."""

import contextlib
import json
import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import msgspec
import pytest
from click.testing import CliRunner, Result
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version
from tables import GENERATED
from terminals import KEYS, Pty

from poise import commands
from poise.commands import main
from poise.correction import Matte
from poise.manual import TOPICS, page
from poise_tui.keys.keymap import load

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
MANUAL = "\n".join(page(topic) for topic in TOPICS)


def block(name: str) -> str:
    found = re.search(rf"<!-- {name} -->\n(.*?)<!-- end -->", README + MANUAL, re.DOTALL)
    assert found, f"neither README nor manual has a part {name!r}"
    return found[1]


@pytest.mark.parametrize("name", GENERATED)
def test_a_table_is_that_of_the_program(name: str) -> None:
    assert block(name).strip() == GENERATED[name]().strip(), "python tests/docs/tables.py writes it anew"


def test_the_matte_of_the_readme_is_one() -> None:
    written = re.search(r'```json\n(\{"name".*?)```', MANUAL, re.DOTALL)
    assert written
    matte = msgspec.json.decode(written[1], type=Matte)
    assert (matte.name, matte.hue.low, matte.inside.turn) == ("hull", 340, 30)


def test_the_keymap_of_the_readme_is_taken(tmp_path: Path) -> None:
    written = re.search(r"```toml\n(.*?)```", page("keys"), re.DOTALL)
    assert written
    path = tmp_path / "keys.toml"
    path.write_text(written[1], encoding="utf-8")
    keys = load(path)
    actions = keys.actions["balance"]
    assert (actions["u"], actions["U"], actions["pagedown"]) == (
        "undo",
        "exposure.raise",
        "exposure.lower",
    )


@pytest.mark.thorough
@pytest.mark.usefixtures("in_this_process")
def test_the_delivery_check_of_the_readme_runs(reel: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written = re.search(r"```toml\n(# harbour.toml\n.*?)```", page("check"), re.DOTALL)
    assert written
    (reel / "harbour.toml").write_text(written[1], encoding="utf-8")
    monkeypatch.chdir(reel)
    lines = [shlex.split(line)[1:] for line in block("delivery").splitlines() if line.startswith("poise ")]
    codes = [CliRunner().invoke(main, line).exit_code for line in lines]
    assert codes == [1, 1, 1, 0]  # the reel has several sizes, and full range; its outputs are those that were written


def test_linked_files_exist() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target
    assert set(re.findall(r"manual/(\w+)\.md", README)) == set(TOPICS)


def test_the_readme_can_be_read_in_one_sitting() -> None:
    assert len(README.splitlines()) <= 220


def test_the_manual_names_only_its_own_topics() -> None:
    assert set(re.findall(r"`poise manual (\w+)`", MANUAL)) <= set(TOPICS)


def test_the_fresh_machine_commands_are_two() -> None:
    lines = [line for line in block("fresh machine").splitlines() if not line.startswith("```")]
    assert len(lines) == 2
    assert lines[0].startswith("python3 -m venv .venv && .venv/bin/pip install -q -c .ci/constraints.txt . &&")
    assert lines[1].startswith(".venv/bin/pip install -q -c .ci/constraints.txt -e '.[test]' &&")
    assert lines[1].endswith("-m pytest")


def test_every_dependency_has_a_tested_version_within_its_range() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    tested: dict[str, list[Version]] = {}
    for line in (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            name, _, version = line.partition(";")[0].strip().partition("==")
            tested.setdefault(canonicalize_name(name), []).append(Version(version))
    for text in [*project["dependencies"], *project["optional-dependencies"]["test"]]:
        needed = Requirement(text)
        versions = tested[canonicalize_name(needed.name)]
        assert all(version in needed.specifier for version in versions), text


@pytest.fixture(scope="module")
def reel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("walk")
    run = poise(["demo", "poise_demo"], folder)
    assert run.exit_code == 0, run.stderr
    return folder


def poise(arguments: list[str], folder: Path) -> Result:
    """A command in a folder; in this process, since to start one takes longer than most commands."""
    with contextlib.chdir(folder):
        return CliRunner().invoke(main, arguments)


@pytest.mark.usefixtures("in_this_process")
def test_the_five_minute_walk_runs(reel: Path) -> None:
    for line in block("walk").splitlines():
        if line.startswith("cp "):
            subprocess.run(shlex.split(line), cwd=reel, check=True)
        if line.startswith("poise "):
            run = poise(shlex.split(line)[1:], reel)
            assert run.exit_code == 0, (line, run.stderr)
            assert "Traceback" not in run.stderr
    balanced = {path.name for path in (reel / "walk_balanced").rglob("*.*")}
    named = {"market_03.tif", "slipway_08.exr", "harbour_09.jpg", "ferry_night.0105.png", "pilot_boat_12.mov"}
    assert named <= balanced


def test_the_app_opens_on_the_reel_and_takes_the_keys_of_the_walk(reel: Path) -> None:
    assert "poise poise_demo\n" in README
    call = [sys.executable, "-c", "from poise.commands import main; main()", "poise_demo"]
    with Pty(call, 80, 24, folder=reel) as pty:
        pty.wait_for("alley_07.png")
        for key in (KEYS["down"], "1", "r", "-", KEYS["tab"], KEYS["tab"], " ", " ", "Z", "Y", "C", "\r"):
            mark = pty.mark()
            pty.send(key)
            pty.wait_quiet(after=mark)
        pty.send("Q")
        assert pty.wait(20) == 0
    saved = json.loads((reel / "poise_demo" / "breakwater_10.png.poise.json").read_text(encoding="utf-8"))
    assert saved["state"] == "balanced"
    assert saved["correction"]["balance"]["offset"] == pytest.approx([0.005] * 3, abs=1e-3)


def test_every_command_of_the_table_has_help(tmp_path: Path) -> None:
    names = re.findall(r"^\| `poise ([a-z]+)", README, re.MULTILINE)
    assert set(names) == {*commands.COMMANDS, "show"}
    for name in names:
        run = poise([name, "--help"], tmp_path)
        assert run.exit_code == 0
        assert "Example" in run.stdout, name


@pytest.mark.usefixtures("in_this_process")
def test_the_sidecar_of_the_readme_is_taken(reel: Path) -> None:
    written = re.search(r'^\{"poise": 1, .*\}$', MANUAL, re.MULTILINE)
    assert written
    (reel / "poise_demo" / "quay_01.tif.poise.json").write_text(written[0], encoding="utf-8")
    run = poise(["apply", "poise_demo/quay_01.tif", "--out", "by_hand"], reel)
    assert run.exit_code == 0, run.stderr
    assert (reel / "by_hand" / "quay_01.tif").exists()


@pytest.mark.usefixtures("in_this_process")
def test_the_hand_over_runs(reel: Path) -> None:
    first = ["auto", "--again", "--as", "cdl", "poise_demo/quay_01.tif"]  # whatever other tests left there
    assert poise(first, reel).exit_code == 0
    sidecar = reel / "poise_demo" / "quay_01.tif.poise.json"
    before = json.loads(sidecar.read_text(encoding="utf-8"))["correction"]
    said = ""
    for line in block("hand-over").splitlines():
        if line.startswith("poise "):
            run = poise(shlex.split(line)[1:], reel)
            assert run.exit_code == 0, (line, run.stderr)
            said += run.stdout
    assert re.search(r"ferry_02, .* off by \S+ codes on average.*\n.*quay_01, exact", said)
    assert (reel / "handover" / "ferry_02.cc").exists()
    after = json.loads(sidecar.read_text(encoding="utf-8"))["correction"]
    assert (after["saturation"], after["balance"]["power"]) == (before["saturation"], before["balance"]["power"])


@pytest.mark.usefixtures("in_this_process")
def test_the_sheet_of_the_readme_is_made_and_its_record_holds(reel: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(reel)
    for line in block("sheet").splitlines():
        if line.startswith("poise "):
            call, _, target = line.partition(" > ")
            run = CliRunner().invoke(main, shlex.split(call)[1:])
            assert run.exit_code == 0, (line, run.stderr)
            if target:
                Path(target).write_text(run.stdout, encoding="utf-8")
    assert b"ferry_night.####.png" in Path("harbour.html").read_bytes()
