"""A private tmux server with one pane: the terminal that most people on a remote machine really sit in."""

import os
import select
import shutil
import subprocess
import time
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from typing import Self

from terminals.surroundings import LIMIT, housed
from terminals.surroundings import environment as usual


def tmux_or_skip() -> None:
    """Skips the test that calls it where tmux isn't installed."""
    import pytest

    if shutil.which("tmux") is None:
        pytest.skip("tmux isn't installed")


class Tmux:
    """Runs a command in a pane of exactly that size, though nobody is attached; kills its server on leaving.

    Args:
        command: the program and its arguments.
        environment: all variables of server and pane, TERM being what the pane is told (tmux-256color when
            `environment` isn't given); HOME is an empty folder if not among them.

    Example:
        with Tmux(["less", "tides.txt"], 100, 30) as tmux:
            tmux.keys("PageDown", "q")
            tmux.wait_end()
    """

    def __init__(
        self, command: Sequence[str], columns: int = 80, rows: int = 24, environment: Mapping[str, str] | None = None
    ) -> None:
        self._command = list(command)
        self._size = columns, rows
        self._environment = environment or usual(TERM="tmux-256color", COLORTERM=None)

    def __enter__(self) -> Self:
        self._left = ExitStack()
        try:
            self._variables, folder = self._left.enter_context(housed(self._environment))
            self._socket = str(folder / "tmux")
            self._left.callback(self.kill_server)
            columns, rows = map(str, self._size)
            terminal = self._environment.get("TERM", "tmux-256color")
            settings = [
                ("-g", "default-terminal", terminal),
                ("-g", "status", "off"),  # it would take a row of the size asked for
                ("-s", "exit-empty", "off"),  # so that the server can be asked after the program is over
                ("-s", "escape-time", "0"),
            ]
            options = [word for setting in settings for word in ("set-option", *setting, ";")]
            self._run(*options, "new-session", "-d", "-x", columns, "-y", rows, "--", *self._command)
            self.pid = int(self._run("list-panes", "-F", "#{pane_pid}"))
            self._end = os.pidfd_open(self.pid)
            self._left.callback(os.close, self._end)
        except BaseException:
            self._left.close()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self._left.close()

    def _run(self, *arguments: str, check: bool = True) -> str:
        command = ["tmux", "-u", "-S", self._socket, "-f", "/dev/null", *arguments]
        done = subprocess.run(command, env=self._variables, capture_output=True, text=True, encoding="utf-8")
        if check and done.returncode:
            raise RuntimeError(f"tmux {' '.join(arguments)}: {done.stderr.strip()}")
        return done.stdout

    def keys(self, *names: str) -> None:
        """Presses keys: one character is itself, anything longer a name that tmux knows (Down, Enter, Escape, C-c)."""
        arguments: list[str] = []
        for name in names:
            pressed = ["-l", "--", "\\;" if name == ";" else name] if len(name) == 1 else ["--", name]
            arguments += ["send-keys", *pressed, ";"]
        self._run(*arguments[:-1])

    def capture(self, escapes: bool = False) -> str:
        """The pane's rows without trailing blanks, with SGR sequences if asked for."""
        return self._run("capture-pane", "-p", *(["-e"] if escapes else []))

    def wait_for(self, text: str, timeout: float = LIMIT, every: float = 0.05) -> str:
        """Waits until a row of the pane holds the text, and returns what it shows. Raises TimeoutError."""
        deadline = time.monotonic() + timeout
        while text not in (shown := self.capture()):
            if time.monotonic() > deadline:
                raise TimeoutError(f"{text!r} never came; the pane shows:\n{shown}")
            time.sleep(every)  # tmux has no event for a pane's content
        return shown

    def resize(self, columns: int, rows: int) -> None:
        self._run("resize-window", "-x", str(columns), "-y", str(rows))

    def kill_pane(self) -> None:
        """Takes the pane away: the program gets SIGHUP."""
        self._run("kill-pane")

    def wait_end(self, timeout: float = LIMIT) -> None:
        """Waits until the program is over. Raises TimeoutError."""
        if not select.select([self._end], [], [], timeout)[0]:
            shown = self._run("capture-pane", "-p", check=False)
            raise TimeoutError(f"the program still runs; the pane shows:\n{shown}")

    def kill_server(self) -> None:
        self._run("kill-server", check=False)
