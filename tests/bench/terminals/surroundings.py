"""The exact environment that a program in a terminal is given: nothing of the tester's own shell leaks in."""

import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

LIMIT = 120.0
"""Seconds that anything is waited for; a machine that does much else makes all of it a few times slower."""


def environment(**changes: str | None) -> dict[str, str]:
    """A true-colour UTF-8 terminal, PATH and where Python finds this code, no HOME; `changes` sets, or None takes away.

    Example:
        >>> "COLORTERM" in environment(COLORTERM=None)
        False
    """
    base = {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8", "PATH": os.environ["PATH"]}
    base |= {"PYTHONPATH": os.environ["PYTHONPATH"]} if os.environ.get("PYTHONPATH") else {}
    return {name: value for name, value in {**base, **changes}.items() if value is not None}


@contextmanager
def housed(variables: Mapping[str, str]) -> Iterator[tuple[dict[str, str], Path]]:
    """The variables, HOME an empty folder unless it is given, and a short folder that lasts as long as the block."""
    with tempfile.TemporaryDirectory(prefix="poise-terminal-", ignore_cleanup_errors=True) as made:
        home = Path(made) / "home"
        home.mkdir()
        yield {"HOME": str(home), **variables}, Path(made)
