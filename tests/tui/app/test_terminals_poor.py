"""Terminals that can do little, or nothing: the app says so, or works with what there is."""

import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from terminals import KEYS, Pty, environment
from thorough import many

from poise.frames import Depth, Frame, write

APP = [sys.executable, "-c", "from poise.commands import main; main()"]
COLOUR = re.compile(rb"\x1b\[[0-9;]*?\b(3[0-8]|4[0-8]|9[0-7]|10[0-7])[;m]")
"""An SGR sequence that sets a colour (ECMA-48, and aixterm's bright ones)."""


@pytest.fixture(scope="module")
def quay(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("quay")
    pixels = np.random.default_rng(5).integers(0, 256, (36, 64, 3), np.uint8)
    for number in (1, 2):
        write(folder / f"quay_{number}.png", Frame(pixels, Depth.U8))
    return folder


def works(quay: Path, sidecars: Path, variables: dict[str, str]) -> bytes:
    """Starts, nudges, quits; all bytes that were sent."""
    with Pty([*APP, str(quay), "--sidecars", str(sidecars)], 80, 24, variables) as pty:
        pty.wait_for("undo 0")
        pty.send("o")
        pty.wait_for("undo 1")
        pty.send("Q")
        assert pty.wait(10) == 0
        pty.wait_quiet()
        sent = pty.since(0)
    assert b"Traceback" not in sent
    assert [file.name for file in sidecars.iterdir()] == ["quay_1.png.poise.json"]
    return sent


@pytest.mark.parametrize("term", ["dumb", None])
def test_a_terminal_that_moves_no_cursor_is_refused(term: str | None, quay: Path) -> None:
    with Pty([*APP, str(quay)], environment=environment(TERM=term)) as pty:
        assert pty.wait(10) == 2
        pty.wait_quiet()
        said = pty.since(0).decode()
    assert said.startswith("poise: ")
    assert "TERM" in said
    assert said.count("\n") == 1


def test_without_a_terminal_it_is_refused(quay: Path) -> None:
    done = subprocess.run([*APP, str(quay)], stdin=subprocess.DEVNULL, capture_output=True, text=True, env=os.environ)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("poise: the app needs a terminal")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("term", many(["linux", "tmux-256color"], ["linux", "xterm", "screen", "tmux-256color"]))
def test_every_usual_terminal_will_do(term: str, quay: Path, tmp_path: Path) -> None:
    sent = works(quay, tmp_path, environment(TERM=term, COLORTERM=None))
    assert COLOUR.search(sent)
    assert b"38;2;" not in sent
    assert (b"38;5;" in sent) == ("256" in term)


def test_no_colour_is_sent_where_none_is_wanted(quay: Path, tmp_path: Path) -> None:
    assert not COLOUR.search(works(quay, tmp_path, environment(NO_COLOR="1")))


def test_only_ascii_is_sent_in_the_c_locale(quay: Path, tmp_path: Path) -> None:
    assert works(quay, tmp_path, environment(LANG=None, LC_ALL="C")).isascii()


def test_a_wrong_colour_system_is_passed_over(quay: Path, tmp_path: Path) -> None:
    works(quay, tmp_path, environment(TEXTUAL_COLOR_SYSTEM="nonsense"))


@pytest.mark.parametrize("size", [(20, 5), (1, 1)])
def test_the_smallest_terminals_will_do(size: tuple[int, int], quay: Path, tmp_path: Path) -> None:
    with Pty([*APP, str(quay), "--sidecars", str(tmp_path)], *size) as pty:
        pty.wait_quiet(1, after=100)
        pty.send("o")
        pty.wait_quiet(0.3)
        pty.resize(80, 24)
        pty.wait_for("undo 1")
        pty.send("Q")
        assert pty.wait(10) == 0


def test_neither_ctrl_c_nor_pasted_text_does_anything(quay: Path, tmp_path: Path) -> None:
    with Pty([*APP, str(quay), "--sidecars", str(tmp_path)], 80, 24) as pty:
        pty.wait_for("undo 0")
        pty.send(KEYS["ctrl+c"])
        pty.wait_for("ctrl+c does nothing")
        pty.send("\x1b[200~qqqqQ\x1b[201~")
        pty.wait_for("pasted")
        assert pty.screen().shows("undo 0")
        pty.send("Q")
        assert pty.wait(10) == 0
    assert list(tmp_path.iterdir()) == []
