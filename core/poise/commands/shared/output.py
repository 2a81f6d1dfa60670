"""What commands say: data to stdout, narration to stderr, and one line for each file that failed."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from poise.errors import FileError, UsageError, one_line, why_not
from poise.frames.shots import Problem

TOLD = 10
"""Names that stand in one line."""


class Report:
    """Tells faults as they come and remembers whether there were any, for the exit code."""

    def __init__(self) -> None:
        self.faults: list[tuple[Path, str]] = []

    def fault(self, path: Path, reason: str) -> None:
        """One file failed; the rest goes on."""
        self.faults.append((path, reason))
        say(f"poise: {FileError(path, reason)}")

    def passed_over(self, path: Path, reason: str) -> None:
        """One file is left out on purpose."""
        say(f"passed over {FileError(path, reason)}")

    def note(self, path: Path, text: str) -> None:
        """Something about one file that is no fault."""
        say(f"note: {FileError(path, text)}")

    def need(self, number: int, nothing: str) -> None:
        """Ends the command with code 2 when there is nothing to do.

        Raises:
            UsageError: `number` is 0.
        """
        if not number:
            raise UsageError(nothing)

    def end(self) -> None:
        """Ends the command: code 1 when a file failed."""
        if self.faults:
            raise click.exceptions.Exit(1)


def say(text: str) -> None:
    """Narration, to stderr."""
    click.echo(text, err=True)


def data(value: Any) -> None:
    """JSON, to stdout."""
    click.echo(json.dumps(value, indent=2))


def some(names: Sequence[object]) -> str:
    """Names in one line; of many, the first ones and how many more.

    Example:
        >>> some(["quay_02", "quay_03"])
        'quay_02, quay_03'
    """
    told = ", ".join(shown(str(name)) for name in names[:TOLD])
    return told + (f" and {len(names) - TOLD:,} more" if len(names) > TOLD else "")


def shown(path: Path | str) -> str:
    """A path for a table: on one line, whatever it holds."""
    return one_line(path)


def problem(path: Path, fault: Exception) -> Problem:
    """What is told of a shot that could not be done, in a form that goes from process to process.

    Args:
        path: of the shot.

    Example:
        >>> problem(Path("quay_02.tif"), FileError("quay_02.tif.poise.json", "the sidecar is empty")).reason
        'the sidecar is empty'
    """
    if isinstance(fault, FileError):
        return Problem(fault.path, fault.reason)
    return Problem(path, why_not(path, fault))
