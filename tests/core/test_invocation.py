"""Commands that a message tells the user to type can be typed: by the path that was used, or by name through PATH."""

import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import skimage
from click.testing import CliRunner
from PIL import Image

from poise.commands import demo, main


@pytest.fixture
def script(tmp_path: Path) -> Path:
    """What pip installs for the command, in a folder whose name needs quotes."""
    path = tmp_path / "on the quay" / "bin" / "poise"
    path.parent.mkdir(parents=True)
    path.write_text(f"#!{sys.executable}\nfrom poise.commands import main\nmain()\n")
    path.chmod(0o755)
    return path


def shell(line: str, folder: Path, *first: Path) -> subprocess.CompletedProcess[str]:
    """A line as typed in a folder, by a shell that looks for programs in some folders first."""
    search = os.pathsep.join([*map(str, first), "/usr/bin", "/bin"])
    return subprocess.run(
        ["/bin/sh", "-c", line], cwd=folder, env={**os.environ, "PATH": search}, capture_output=True, text=True
    )


@pytest.mark.parametrize(
    ("typed", "searched", "told"),
    [
        ("poise", True, "poise"),
        ("'on the quay/bin/poise'", False, "'on the quay/bin/poise'"),
        ("cd 'on the quay' && bin/poise", False, "bin/poise"),
        ("cd 'on the quay/bin' && ./poise", True, "poise"),
    ],
)
def test_the_program_is_told_as_it_can_be_typed(
    script: Path, tmp_path: Path, typed: str, searched: bool, told: str
) -> None:
    done = shell(f"{typed} harbuor", tmp_path, *[script.parent] * searched)
    assert done.stderr == f"poise: harbuor: no such command, file or folder; {told} --help lists the commands\n"
    wrong = shell(f"{typed} measure --harbuor", tmp_path, *[script.parent] * searched)
    assert wrong.stderr.endswith(f"; see {told} measure --help\n")
    assert shell(f"{typed} --help", tmp_path, *[script.parent] * searched).stdout.startswith(f"Usage: {told} ")


def test_another_program_of_that_name_on_path_is_not_meant(script: Path, tmp_path: Path) -> None:
    other = tmp_path / "bin" / "poise"
    other.parent.mkdir()
    other.write_text("#!/bin/sh\n")
    other.chmod(0o755)
    path = shlex.quote(str(script))
    assert f"; {path} --help lists" in shell(f"{path} harbuor", tmp_path, other.parent).stderr


def test_the_commands_that_the_demo_tells_run_as_they_are_printed(
    script: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The demo in this process, on a reel of one picture, as if it were called by that path."""
    reel = tmp_path / "reel"
    reel.mkdir()
    Image.fromarray(skimage.data.astronaut()[:64, :64]).save(reel / "quay_01.png")
    (reel / "truth.json").write_text('{"shots": {}}')
    monkeypatch.setattr(demo, "demo_folder", lambda: reel)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "argv", ["on the quay/bin/poise"])
    told = CliRunner().invoke(main, ["demo"]).stderr
    lines = [line.strip() for line in told.partition("next, try:\n")[2].splitlines()]
    assert [line.partition(" poise_demo")[0] for line in lines] == [
        "'on the quay/bin/poise' show",
        "'on the quay/bin/poise' show --corrected",
        "'on the quay/bin/poise' apply",
    ]
    done = shell(lines[0], tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
