"""How a command that takes a while is told on stderr: a bar on a terminal, elsewhere a line now and then."""

import sys
import time
from collections.abc import Iterable, Iterator
from typing import TypeVar

import click

from poise.commands.shared.output import say
from poise.commands.shared.progress import EVERY

T = TypeVar("T")


def paced(items: Iterable[T], total: int, what: str, label: str = "check") -> Iterator[T]:
    """The items as they come, and progress beside them.

    Args:
        what: they are, as "frames".
        label: the command.

    Example:
        for job, found in paced(results, len(jobs), "frames"): ...
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
