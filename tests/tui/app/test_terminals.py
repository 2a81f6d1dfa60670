"""The terminals that tests and bench scripts use, held against what the kernel, coreutils and tmux say of them."""

import os
import signal
import sys
import time
from pathlib import Path

import pytest
from terminals import KEYS, Emulated, Pty, Tmux, environment, lag, tmux_or_skip

QUAY = """
import sys

from textual.app import App
from textual.widgets import Static

class Quay(App):
    def compose(self):
        self.seen = ""
        yield Static("Quay", id="quay")

    def on_resize(self, event):
        self.query_one("#quay").styles.height = event.size.height

    def on_key(self, event):
        if event.key == "Q":
            self.exit(return_code=3)
        self.seen += (event.character or f"<{event.key}>")
        shade = len(self.seen) % 10 * 20
        self.query_one("#quay").update(
            f"[#ff8000 on rgb({shade},0,90)]{self.seen}[/] [b]{len(self.seen)} keys[/b] [r]\u6d77[/r]\u2846"
        )

app = Quay()
app.run()
sys.exit(app.return_code)
"""
CHILD = [sys.executable, "-c"]


@pytest.fixture
def quay(tmp_path: Path) -> list[str]:
    program = tmp_path / "quay.py"
    program.write_text(QUAY)
    return [sys.executable, str(program)]


def test_a_program_gets_the_size_and_the_exact_environment() -> None:
    variables = environment(COLORTERM=None, HOME="/lighthouse", NO_COLOR="1")
    with Pty(["sh", "-c", "stty size < /dev/tty; exec env"], 93, 31, variables) as pty:
        assert pty.wait() == 0
        pty.wait_quiet()
        first, *rest = pty.since(0).decode().splitlines()
    assert first == "31 93"
    shell = {"PWD", "SHLVL", "_", "OLDPWD"}
    assert {name: value for name, value in (row.split("=", 1) for row in rest) if name not in shell} == variables
    code = {"PYTHONPATH"} & set(os.environ)
    assert set(variables) == {"TERM", "LANG", "PATH", "HOME", "NO_COLOR"} | code


def test_keys_change_the_screen_and_a_redraw_shows_the_same(quay: list[str]) -> None:
    with Pty(quay, 60, 12) as pty:
        pty.wait_for("Quay")
        pty.wait_quiet()
        before, mark = pty.screen(), pty.mark()
        pty.send("ferry" + KEYS["down"])
        pty.wait_for("<down>")
        pty.wait_quiet()
        assert b"Quay" not in pty.since(mark)
        after = pty.screen()
        assert before.shows("Quay")
        assert not after.shows("Quay")
        assert after.text()[0].startswith("ferry<down> 11 keys \u6d77\u2846 ")

        redraw = pty.mark()
        pty.resize(64, 12)
        pty.wait_quiet(after=redraw)
        assert pty.screen().size == (64, 12)
        redraw = pty.mark()
        pty.resize(60, 12)
        pty.wait_quiet(after=redraw)
        assert pty.screen(redraw).cells() == after.cells() == pty.screen().cells()

        pty.send("Q")
        assert pty.wait() == 3
        pty.wait_quiet()
        assert pty.shown_at("Quay") < pty.shown_at("ferry") < pty.last_byte_time()
        with pytest.raises(EOFError, match="market"):
            pty.wait_for("market")


@pytest.mark.parametrize(("true_colour", "orange"), [("truecolor", "ff8000"), (None, "ff8700")])
def test_colours_come_as_the_terminal_says(quay: list[str], true_colour: str | None, orange: str) -> None:
    with Pty(quay, 40, 4, environment(COLORTERM=true_colour)) as pty:
        pty.wait_for("Quay")
        pty.send("7")
        pty.wait_for("1 keys")
        assert pty.screen().cells()[0][0].fg == orange


@pytest.mark.parametrize("end", ["close", "kill"])
def test_a_lost_terminal_hangs_up_and_a_killed_program_is_gone(end: str) -> None:
    with Pty(["sh", "-c", "echo moored; exec sleep 60"]) as pty:
        pty.wait_for("moored")
        if end == "close":
            pty.close_terminal()
            assert pty.wait() == -signal.SIGHUP
        else:
            pty.kill(signal.SIGTERM)
            assert pty.wait() == -signal.SIGTERM


def test_a_held_line_carries_every_byte_no_faster_than_its_rate() -> None:
    with Pty([*CHILD, "import os; os.write(1, b'x' * 50_000)"], rate=100_000) as pty:
        pty.record.wait_beyond(0, 30)
        pty.wait()
        pty.wait_quiet()
        chunks = pty.record.chunks()
    assert pty.since(0) == b"x" * 50_000
    assert chunks[-1][0] - chunks[0][0] >= 0.49 - 0.01  # half a second but for the first hundredth, and the clock


def test_a_burst_ends_at_the_first_gap() -> None:
    with Pty(["sh", "-c", "printf bell; read line; printf gull; sleep 0.5; printf horn"]) as pty:
        pty.wait_for("bell")
        mark = pty.mark()
        with pytest.raises(TimeoutError, match="no byte"):
            pty.burst(mark, timeout=0.1)
        sent = time.monotonic()
        pty.send("\r")
        pty.wait()
        burst = pty.burst(mark, gap=0.2)
        assert pty.since(mark)[: burst.size] == b"\r\ngull"
        assert sent <= burst.first <= burst.last <= pty.last_byte_time() - 0.4


def test_waiting_tells_what_the_screen_shows() -> None:
    with Pty(["sh", "-c", "echo fog; exec sleep 60"]) as pty:
        pty.wait_for("fog")
        with pytest.raises(TimeoutError, match=r"'buoy' never came.*\nfog"):
            pty.wait_for("buoy", 0.2)
        with pytest.raises(TimeoutError, match="fog"):
            pty.wait_quiet(after=pty.mark(), timeout=0.1)


def test_keys_at_a_pace(quay: list[str]) -> None:
    with Pty(quay, 60, 4) as pty:
        pty.wait_for("Quay")
        pty.wait_quiet()
        mark, begun = pty.mark(), time.monotonic()
        late = lag(pty, "market" * 5, 60)
        assert late.last_key >= begun + 29 / 60
        assert late.last_key < late.last_byte == pty.wait_quiet()
        assert late.size == len(pty.since(mark))
        assert pty.screen().shows("30 keys")


@pytest.mark.parametrize("cut", range(1, 9))
def test_a_sequence_may_be_cut_anywhere_and_the_keyboard_protocol_leaves_no_mark(cut: int) -> None:
    data = b"a\x1b[>1u\x1b[<u\x1b[?2026$pb"
    screen = Emulated(10, 1)
    screen.feed(data[:cut])
    screen.feed(data[cut:])
    assert screen.text() == ["ab        "]


def test_cells_hold_characters_colours_and_attributes() -> None:
    screen = Emulated(6, 2)
    screen.feed("\x1b[1;38;2;1;2;255;48;5;208m\u6d77\x1b[0;7;31mx\x1b[2;6Hz".encode())
    first, second, third = screen.cells()[0][:3]
    assert (first.char, second.char) == ("\u6d77", "")
    # xterm's colour cube: 208 = 16 + 36 * 5 + 6 * 2 + 0, and its levels are 0, 95, 135, 175, 215, 255
    assert (first.fg, first.bg, first.bold, first.reverse) == ("0102ff", "ff8700", True, False)
    assert third == ("x", "red", "default", False, True)
    assert screen.text()[1] == "     z"
    assert screen.cursor == (6, 1, True)


def test_tmux_gives_the_exact_size_and_names_keys(quay: list[str]) -> None:
    tmux_or_skip()
    with Tmux(quay, 101, 33) as tmux:
        tmux.wait_for("Quay")
        tmux.keys("q", ";", "Down", "~", "PageUp", "-")
        assert tmux.wait_for("<pageup>-").startswith("q;<down>~<pageup>- 18 keys \u6d77\u2846")
        assert len(tmux.capture().splitlines()) == 33
        assert "\x1b[38;5;208m" in tmux.capture(escapes=True)
        tmux.keys("Q")
        tmux.wait_end()


def test_tmux_resizes_and_a_killed_pane_hangs_up(tmp_path: Path) -> None:
    tmux_or_skip()
    sunk = tmp_path / "sunk"
    program = (
        f"trap 'stty size' WINCH; trap 'echo sunk > {sunk}; exit' HUP; stty size; echo $TERM; while :; do read x; done"
    )
    with Tmux(["bash", "-c", program], 101, 33) as tmux:
        assert tmux.wait_for("tmux-256color").split()[:2] == ["33", "101"]
        tmux.resize(70, 20)
        tmux.keys("Enter")  # bash runs a trap when its read returns
        tmux.wait_for("20 70")
        with pytest.raises(TimeoutError, match="20 70"):
            tmux.wait_end(0.1)
        tmux.kill_pane()
        tmux.wait_end()
        assert sunk.read_text() == "sunk\n"
