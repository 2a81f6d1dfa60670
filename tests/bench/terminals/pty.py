"""A program on a real pseudo-terminal of its own, driven by keys and judged by every byte it sends."""

import fcntl
import os
import select
import signal as signals
import struct
import subprocess
import termios
import threading
import time
from collections.abc import Mapping, Sequence
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Self

from terminals.emulated import Emulated
from terminals.record import Burst, Record
from terminals.surroundings import LIMIT, housed
from terminals.surroundings import environment as true_colour

KEYS = {
    "up": "\x1b[A", "down": "\x1b[B", "right": "\x1b[C", "left": "\x1b[D", "home": "\x1b[H", "end": "\x1b[F",
    "pageup": "\x1b[5~", "pagedown": "\x1b[6~", "delete": "\x1b[3~", "tab": "\t", "shift+tab": "\x1b[Z", "enter": "\r",
    "escape": "\x1b", "backspace": "\x7f", "space": " ", "ctrl+c": "\x03", "ctrl+z": "\x1a",
}  # fmt: skip


class Pty:
    """Starts a command as the leader of a session on a terminal that answers no queries; ends it on leaving.

    Args:
        command: the program and its arguments.
        environment: all of its variables (`environment()` when not given); HOME is an empty folder if not among them.
        rate: bytes a second that the line carries; without it, all that the program can send.
        folder: where the program runs.

    Example:
        with Pty(["top"], 80, 24) as pty:
            pty.wait_for("load average")
            pty.send("q")
            assert pty.wait(10) == 0
    """

    def __init__(
        self,
        command: Sequence[str],
        columns: int = 80,
        rows: int = 24,
        environment: Mapping[str, str] | None = None,
        *,
        rate: int | None = None,
        folder: Path | None = None,
    ) -> None:
        self._command = list(command)
        self._environment = true_colour() if environment is None else environment
        self._rate = rate
        self._folder = folder
        self._sizes = [(0, columns, rows)]  # from which position in the record the terminal had which size
        self.record = Record()

    def __enter__(self) -> Self:
        self._left = ExitStack()
        variables, _ = self._left.enter_context(housed(self._environment))
        self._master, slave = os.openpty()
        self._set_size(*self._sizes[0][1:])
        self._stop, self._stopper = os.pipe()
        self.started = time.monotonic()
        try:
            # the leader of a session has the first terminal that it opens for its own; no Python runs after the fork
            taken = ["sh", "-c", 'exec "$@" <"$0" >"$0" 2>&1', os.ttyname(slave), *self._command]
            self.process = subprocess.Popen(
                taken, stdin=slave, stdout=slave, stderr=slave, env=variables, cwd=self._folder, start_new_session=True
            )
        except BaseException:
            for file in (self._master, self._stop, self._stopper):
                os.close(file)
            self._left.close()
            raise
        finally:
            os.close(slave)
        self._live, self._fed = Emulated(*self._sizes[0][1:]), 0
        self._open = True
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.close_terminal()
        try:
            self.process.wait(5)
        except subprocess.TimeoutExpired:
            os.killpg(self.process.pid, signals.SIGKILL)
            self.process.wait()
        self._left.close()

    def _read(self) -> None:
        portion = max(1, self._rate // 100) if self._rate else 1 << 16
        free = 0.0
        while self._stop not in select.select([self._master, self._stop], [], [])[0]:
            try:
                chunk = os.read(self._master, portion)
            except OSError:  # no program has the terminal open any longer
                break
            if self._rate:  # a byte has come when the line has carried it
                free = max(free, time.monotonic()) + len(chunk) / self._rate
                select.select([self._stop], [], [], max(0.0, free - time.monotonic()))
            self.record.add(chunk)
        self.record.end()

    def _set_size(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def send(self, keys: str | bytes) -> None:
        """Types text, or the bytes of a key from `KEYS`."""
        left = keys.encode() if isinstance(keys, str) else keys
        while left:
            left = left[os.write(self._master, left) :]

    def resize(self, columns: int, rows: int) -> None:
        """Another size; the kernel sends SIGWINCH."""
        self._sizes.append((len(self.record), columns, rows))
        self._set_size(columns, rows)

    def mark(self) -> int:
        """The position in the record."""
        return len(self.record)

    def since(self, mark: int) -> bytes:
        return self.record.between(mark)

    def last_byte_time(self) -> float:
        """Monotonic seconds; the start of the program when it sent nothing yet."""
        return self.record.last_time or self.started

    def wait_quiet(self, quiet: float = 0.15, timeout: float = LIMIT, after: int | None = None) -> float:
        """Waits until nothing came for `quiet` seconds, with `after` first for a byte beyond that mark.

        Returns the time of the last byte. Raises TimeoutError.
        """
        if after is not None and not self.record.wait_beyond(after, timeout):
            raise TimeoutError(f"no byte came; the screen shows:\n{self.screen()}")
        self.record.wait_quiet(quiet, timeout)
        return self.last_byte_time()

    def burst(self, mark: int, gap: float = 0.06, timeout: float = LIMIT) -> Burst:
        """The bytes from the mark up to the first gap (seconds). Raises TimeoutError when none come."""
        return self.record.burst(mark, gap, timeout)

    def wait_for(self, text: str, timeout: float = LIMIT) -> None:
        """Waits until a row of the screen holds the text. Raises TimeoutError, EOFError when the program is over."""
        deadline = time.monotonic() + timeout
        while not self._feed().shows(text):
            if self.record.wait_beyond(self._fed, deadline - time.monotonic()):
                with suppress(TimeoutError):  # emulating takes the interpreter from the reader, whose clock counts
                    self.record.wait_quiet(0.02, 0.2)
                continue
            fault = EOFError if self.record.ended else TimeoutError
            raise fault(f"{text!r} never came; the screen shows:\n{self._live}")

    def shown_at(self, text: str) -> float | None:
        """When the screen first held the text in a row: the time of the chunk that completed it."""
        screen = Emulated(*self._sizes[0][1:])
        position = 0
        for when, end in self.record.chunks():
            self._replay(screen, position, end)
            position = end
            if screen.shows(text):
                return when
        return None

    def screen(self, from_mark: int = 0) -> Emulated:
        """What the terminal shows, or would show had it been empty at the mark."""
        if not from_mark:
            return self._feed().snapshot()
        size = [size for at, *size in self._sizes if at <= from_mark][-1]
        screen = Emulated(*size)
        self._replay(screen, from_mark, len(self.record))
        return screen

    def _feed(self) -> Emulated:
        end = len(self.record)
        self._replay(self._live, self._fed, end)
        self._fed = end
        return self._live

    def _replay(self, screen: Emulated, start: int, end: int) -> None:
        for at, columns, rows in self._sizes:
            if start <= at <= end:
                screen.feed(self.record.between(start, at))
                screen.resize(columns, rows)
                start = at
        screen.feed(self.record.between(start, end))

    def kill(self, signal: int = signals.SIGKILL) -> None:
        self.process.send_signal(signal)

    def close_terminal(self) -> None:
        """Closes the terminal, as a lost connection does: the program gets SIGHUP."""
        if self._open:
            self._open = False
            os.write(self._stopper, b".")
            self._reader.join()  # while it reads, closing would not reach the program
            for file in (self._master, self._stop, self._stopper):
                os.close(file)

    def wait(self, timeout: float = LIMIT) -> int:
        """The program's return code, negative for a signal; all it said was read. Raises subprocess.TimeoutExpired."""
        code = self.process.wait(timeout)
        self._reader.join(1)  # longer only where something else holds the terminal
        return code
