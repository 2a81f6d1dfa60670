"""Pacing, on a clock that passes when told to: a line that keeps up never waits, a slow one is used at its rate."""

import contextlib
import os
import pty
import time

import pytest

from poise_tui.terminal.line import CAUTION, SHARE, STALL, Line, writable


class Clock:
    def __init__(self) -> None:
        self.now = 50.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


def frame(line: Line, clock: Clock, sent: int, seconds: float) -> None:
    line.started(sent)
    clock.now += seconds
    line.drained()


def test_a_line_that_keeps_up_never_waits(clock: Clock) -> None:
    line = Line(clock)
    assert line.wait() == 0
    for _ in range(100):
        frame(line, clock, 18_000, STALL * 0.9)
        assert line.wait() == 0


def test_a_slow_line_gets_its_share_of_the_measured_rate(clock: Clock) -> None:
    line = Line(clock)
    frame(line, clock, 20_000, 0.2)  # 100,000 bytes a second, so 80,000 are used
    assert line.wait() == pytest.approx(20_000 / (100_000 * SHARE) - 0.2)
    sent = 0
    for _ in range(20):
        clock.now += line.wait()
        assert line.wait() == pytest.approx(0, abs=1e-9)
        line.started(8_000)
        sent += 8_000
        line.drained()  # this end holds nothing back any more, as a server on the way may take all of it at once
    # twenty frames took as long as twenty frames take at that share, the last one's own time not counted
    assert clock.now - 50 == pytest.approx(0.25 + 19 * 8_000 / 80_000)


def test_a_line_is_trusted_again_after_a_while(clock: Clock) -> None:
    line = Line(clock)
    frame(line, clock, 200_000, 1.0)
    clock.now += 0.1
    assert line.wait() > 0
    clock.now += CAUTION
    line.started(200_000)
    line.drained()
    assert line.wait() == 0


def test_nothing_sent_is_no_measure(clock: Clock) -> None:
    line = Line(clock)
    clock.now += 10
    line.drained()
    assert line.wait() == 0
    frame(line, clock, 0, 1)
    assert 0 <= line.wait() <= 1 / SHARE


def test_a_terminal_is_writable_while_there_is_room() -> None:
    master, slave = pty.openpty()
    try:
        assert writable(slave)
        os.set_blocking(slave, False)
        for _ in range(100):  # what was written moves on a moment later, and makes room again
            with contextlib.suppress(BlockingIOError):
                while True:
                    os.write(slave, b"x" * 4096)
            time.sleep(0.01)
            if not writable(slave):
                break
        assert not writable(slave)
        while not writable(slave):
            os.read(master, 4096)
    finally:
        os.close(master)
        os.close(slave)
    assert writable(slave)  # closed: whoever writes there will find out
