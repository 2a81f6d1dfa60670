"""Output of commands: data to stdout, messages to stderr, one line for each file that failed."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from poise.errors import FileError, UsageError, one_line, why_not
from poise.frames.shots import Problem

MOST_NAMES = 10
"""Names on one line at most."""


class Report:
    """Prints faults as they occur, and keeps them for the exit code."""

    def __init__(self) -> None:
        self.faults: list[tuple[Path, str]] = []

    def fault(self, path: Path, reason: str) -> None:
        """Print that a file failed; the command continues."""
        self.faults.append((path, reason))
        say(f"poise: {FileError(path, reason)}")

    def passed_over(self, path: Path, reason: str) -> None:
        """Print that a file is left out on purpose."""
        say(f"passed over {FileError(path, reason)}")

    def note(self, path: Path, text: str) -> None:
        """Print a remark about a file that is not a fault."""
        say(f"note: {FileError(path, text)}")

    def need(self, number: int, nothing: str) -> None:
        """End the command with exit code 2 if there is nothing to do.

        Raises:
            UsageError: `number` is 0.
        """
        if not number:
            raise UsageError(nothing)

    def end(self) -> None:
        """End the command with exit code 1 if a file failed."""
        if self.faults:
            raise click.exceptions.Exit(1)


def say(text: str) -> None:
    """Print a message to stderr."""
    click.echo(text, err=True)


def data(value: Any) -> None:
    """Print a value as JSON to stdout."""
    click.echo(json.dumps(value, indent=2))


def some(names: Sequence[object]) -> str:
    """Names on one line; of a long list the first ones, and how many more.

    Example:
        >>> some(["quay_02", "quay_03"])
        'quay_02, quay_03'
    """
    text = ", ".join(shown(str(name)) for name in names[:MOST_NAMES])
    return text + (f" and {len(names) - MOST_NAMES:,} more" if len(names) > MOST_NAMES else "")


def shown(path: Path | str) -> str:
    """A path as one printable line."""
    return one_line(path)


def problem(path: Path, fault: Exception) -> Problem:
    """The `Problem` for an exception while working on a shot; unlike the exception, it can be pickled.

    Args:
        path: of the shot, reported where the exception names no file.

    Example:
        >>> problem(Path("quay_02.tif"), FileError("quay_02.tif.poise.json", "the sidecar is empty")).reason
        'the sidecar is empty'
    """
    if isinstance(fault, FileError):
        return Problem(fault.path, fault.reason)
    return Problem(path, why_not(path, fault))
