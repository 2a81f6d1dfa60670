"""The README tells the truth: its commands run, its tables are those of the program, its files exist."""

import contextlib
import json
import re
import shlex
import sys
from pathlib import Path

import msgspec
import pytest
from click.testing import CliRunner, Result
from terminals import KEYS, Pty

from poise import commands
from poise.commands import main
from poise.correction import CONTROLS, Control, Matte
from poise.correction.controls import MATTE_CONTROLS
from poise.delivery.limits import SETS, UNITS
from poise.delivery.limits import load as load_limits
from poise_tui.actions import ACTIONS, COLUMNS, MOVES, column, column_at
from poise_tui.commandline import COMMANDS
from poise_tui.keys.help import TABLES
from poise_tui.keys.keymap import keymap, load

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(name: str) -> str:
    found = re.search(rf"<!-- {name} -->\n(.*?)<!-- end -->", README, re.DOTALL)
    assert found, f"README has no part {name!r}"
    return found[1]


def controls_table(controls: tuple[Control, ...] = CONTROLS, where: str = "correction") -> str:
    def number(value: float) -> str:
        return f"{value:.3f}".rstrip("0").rstrip(".")

    rows = [
        f"| `{c.path}` | {c.name} | {c.unit} | {number(c.neutral)} | {number(c.low)} .. {number(c.high)} |\n"
        for c in controls
    ]
    return f"| key below `{where}` | what | unit | neutral | limits |\n|---|---|---|---|---|\n" + "".join(rows)


def test_the_controls_are_those_of_the_model() -> None:
    assert block("controls").strip() == controls_table().strip()


def test_the_controls_of_a_matte_are_those_of_the_model() -> None:
    assert block("matte controls").strip() == controls_table(MATTE_CONTROLS, "mattes[]").strip()


def test_the_matte_of_the_readme_is_one() -> None:
    written = re.search(r'```json\n(\{"name".*?)```', README, re.DOTALL)
    assert written
    matte = msgspec.json.decode(written[1], type=Matte)
    assert (matte.name, matte.hue.low, matte.inside.turn) == ("hull", 340, 30)


def keys_table() -> str:
    keys = keymap()

    def shown(name: str) -> str:
        return " ".join(f"`{key}`" for key in keys.keys[name])

    rows = ["| name | keys | what it does |\n|---|---|---|\n"]
    for name in COLUMNS:
        three = " ".join(shown(f"{name}.{move}") for move in MOVES)
        tables = [f"; {mode}: {column_at(name, mode)}" for mode in TABLES if column_at(name, mode)]
        does = column(name) + "".join(tables)
        rows.append(f"| {', '.join(f'`{name}.{move}`' for move in MOVES)} | {three} | {does} |\n")
    rows += [f"| `{one.name}` | {shown(one.name)} | {one.does} |\n" for one in ACTIONS if one.group != "desk"]
    return "".join(rows)


def app_commands_table() -> str:
    rows = [f"| `{command.usage}` | {command.does} |\n" for command in COMMANDS]
    return "| command | what it does |\n|---|---|\n" + "".join(rows)


def test_the_keys_are_those_of_the_registry() -> None:
    assert block("keys").strip() == keys_table().strip()


def test_the_commands_of_the_app_are_those_of_its_table() -> None:
    assert block("app commands").strip() == app_commands_table().strip()


def test_the_keymap_of_the_readme_is_taken(tmp_path: Path) -> None:
    written = re.search(r"```toml\n(.*?)```", README, re.DOTALL)
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


def limits_table() -> str:
    sets = [load_limits(name) for name in SETS]
    rows = [f"| limit | in | {' | '.join(one.name for one in sets)} | source |\n|---|---|{'---|' * (len(SETS) + 1)}\n"]
    for name, unit in UNITS.items():
        found = [one[name] for one in sets]
        figures = " | ".join(f"{one.value:g}" if one else "-" for one in found)
        sources = "; ".join(dict.fromkeys(one.source + " (caution)" * one.caution for one in found if one))
        rows.append(f"| `{name}` | {unit} | {figures} | {sources or '-'} |\n")
    return "".join(rows)


def test_the_limits_are_those_of_the_sets() -> None:
    assert block("limits").strip() == limits_table().strip()


@pytest.mark.usefixtures("in_this_process")
def test_the_delivery_check_of_the_readme_runs(reel: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written = re.search(r"```toml\n(# harbour.toml\n.*?)```", README, re.DOTALL)
    assert written
    (reel / "harbour.toml").write_text(written[1], encoding="utf-8")
    monkeypatch.chdir(reel)
    lines = [shlex.split(line)[1:] for line in block("delivery").splitlines() if line.startswith("poise ")]
    codes = [CliRunner().invoke(main, line).exit_code for line in lines]
    assert codes == [1, 1, 1, 0]  # the reel has several sizes, and full range; its outputs are those that were written


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
    assert run.exit_code == 0, run.stderr
    return folder


def poise(arguments: list[str], folder: Path) -> Result:
    """A command in a folder; in this process, since to start one takes longer than most commands."""
    with contextlib.chdir(folder):
        return CliRunner().invoke(main, arguments)


def test_the_five_minute_walk_runs(reel: Path) -> None:
    for line in block("walk").splitlines():
        if line.startswith("poise "):
            run = poise(shlex.split(line)[1:], reel)
            assert run.exit_code == 0, (line, run.stderr)
            assert "Traceback" not in run.stderr
    balanced = {p.name for p in (reel / "balanced").rglob("*") if p.suffix in {".png", ".tif", ".exr", ".jpg"}}
    assert {"market_03.tif", "slipway_08.exr", "harbour_09.jpg", "ferry_night.0105.png"} <= balanced


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
    written = re.search(r'^\{"poise": 1, .*\}$', README, re.MULTILINE)
    assert written
    (reel / "poise_demo" / "quay_01.tif.poise.json").write_text(written[0], encoding="utf-8")
    run = poise(["apply", "poise_demo/quay_01.tif", "--out", "by_hand"], reel)
    assert run.exit_code == 0, run.stderr
    assert (reel / "by_hand" / "quay_01.tif").exists()


@pytest.mark.usefixtures("in_this_process")
def test_the_hand_over_runs(reel: Path) -> None:
    assert poise(["auto", "--again", "poise_demo/quay_01.tif"], reel).exit_code == 0  # whatever other tests left there
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
