"""Progress on stderr: a bar on a terminal, a line every few seconds elsewhere, or JSON lines for programs."""

import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Literal, Protocol, TypeVar

import click

from poise.batch.resume import Remaining
from poise.batch.run import Outcome
from poise.commands.shared.output import Report, say

T = TypeVar("T")
Style = Literal["auto", "bar", "lines", "json", "none"]
STYLES: tuple[Style, ...] = ("auto", "bar", "lines", "json", "none")
EVERY = 10.0
"""Seconds between two lines."""


class Progress(Protocol):
    """Reports the progress of a batch."""

    def start(self, work: Remaining) -> None:
        """Called once, with the jobs to do."""

    def update(self, outcome: Outcome) -> None:
        """Called when a frame ends."""

    def finish(self) -> None:
        """Called when the run is over, even by an exception."""


class Pace:
    """Counts frames and failures, and estimates speed and remaining time."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock, self._start = clock, clock()
        self.total = self.frames = self.failed = 0
        self._pixels = 0

    def add(self, outcome: Outcome) -> None:
        """Called when a frame ends."""
        self.frames += 1
        self.failed += outcome.result is None
        self._pixels += outcome.result.pixels if outcome.result else 0

    @property
    def speed(self) -> float:
        """Megapixels per second so far."""
        return self._pixels / 1e6 / max(self._clock() - self._start, 1e-3)

    @property
    def left(self) -> float:
        """Estimated seconds to the end."""
        return (self._clock() - self._start) / max(self.frames, 1) * (self.total - self.frames)

    def words(self) -> str:
        """The speed and the number of failures as text."""
        return f"{self.speed:.0f} MP/s" + (f", {self.failed} failed" if self.failed else "")


class Bar:
    """A progress bar; failures are printed below it at the end."""

    def __init__(self, report: Report) -> None:
        self._report, self._pace = report, Pace()
        self._failed: list[Outcome] = []
        self._bar: Any = click.progressbar(
            length=0, label="apply", file=sys.stderr, show_pos=True, item_show_func=lambda _: self._pace.words()
        )

    def start(self, work: Remaining) -> None:
        self._bar.length = self._pace.total = len(work.jobs)
        if work.jobs:
            self._bar.render_progress()

    def update(self, outcome: Outcome) -> None:
        self._pace.add(outcome)
        if outcome.result is None:
            self._failed.append(outcome)
        self._bar.update(1, outcome)

    def finish(self) -> None:
        if self._pace.total:
            self._bar.render_finish()
        for outcome in self._failed:
            self._report.fault(outcome.job.file, outcome.reason)


class Lines:
    """Prints failures as they occur, and unless quiet a line every EVERY seconds."""

    def __init__(self, report: Report, quiet: bool = False, clock: Callable[[], float] = time.monotonic) -> None:
        self._report, self._quiet, self._clock = report, quiet, clock
        self._pace, self._said = Pace(clock), clock()

    def start(self, work: Remaining) -> None:
        self._pace.total = len(work.jobs)

    def update(self, outcome: Outcome) -> None:
        pace = self._pace
        pace.add(outcome)
        if outcome.result is None:
            self._report.fault(outcome.job.file, outcome.reason)
        if not self._quiet and self._clock() - self._said >= EVERY:
            self._said = self._clock()
            minutes, seconds = divmod(round(pace.left), 60)
            say(f"apply: {pace.frames} of {pace.total} frames, {pace.words()}, about {minutes}:{seconds:02} left")

    def finish(self) -> None:
        pass


class Events:
    """One JSON object a line: `begun`, `done` or `failed` for each frame, `ended`."""

    def __init__(self, report: Report) -> None:
        self._report, self._pace = report, Pace()

    def start(self, work: Remaining) -> None:
        self._pace.total = len(work.jobs)
        _event("begun", frames=len(work.jobs), unchanged=len(work.unchanged))

    def update(self, outcome: Outcome) -> None:
        self._pace.add(outcome)
        file, output = str(outcome.job.file), str(outcome.job.output)
        if outcome.result:
            result = outcome.result
            notes = {"notes": list(result.notes)} if result.notes else {}
            _event("done", file=file, output=output, hash=result.output_hash, **notes)
        else:
            self._report.faults.append((outcome.job.file, outcome.reason))
            _event("failed", file=file, reason=outcome.reason)

    def finish(self) -> None:
        pace = self._pace
        _event("ended", frames=pace.frames, failed=pace.failed, megapixels_a_second=round(pace.speed, 1))


def progress(style: Style, report: Report) -> Progress:
    """The progress reporter of a style; `auto` is a bar on a terminal and lines elsewhere."""
    if style == "auto":
        style = "bar" if sys.stderr.isatty() else "lines"
    if style == "bar":
        return Bar(report)
    return Events(report) if style == "json" else Lines(report, quiet=style == "none")


def _event(what: str, **more: object) -> None:
    say(json.dumps({"event": what, **more}))


def with_progress(items: Iterable[T], total: int, what: str, label: str) -> Iterator[T]:
    """Yield items as they come, and show progress on stderr: a bar on a terminal, lines elsewhere.

    Args:
        what: the noun for the items, as "frames".
        label: the name of the command.

    Example:
        for job, found in with_progress(results, len(jobs), "frames", "check"): ...
    """
    if sys.stderr.isatty():
        with click.progressbar(items, length=total, label=label, show_pos=True, file=sys.stderr) as bar:
            yield from bar
        return
    began = said = time.monotonic()
    for number, item in enumerate(items, 1):
        yield item
        now = time.monotonic()
        if now - said >= EVERY and number < total:
            said = now
            minutes, seconds = divmod(round((now - began) / number * (total - number)), 60)
            say(f"{label}: {number} of {total} {what}, about {minutes}:{seconds:02} left")
