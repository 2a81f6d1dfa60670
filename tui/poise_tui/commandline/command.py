"""What can be typed after `:`, as a row of a table, and what it may ask of the desk."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from poise_tui.actions import Desk
from poise_tui.draw.palette import Theme


class Console(Desk, Protocol):
    """A desk with what only commands reach."""

    def theme(self, theme: Theme) -> None: ...

    def manual(self, topic: str) -> None:
        """A page of the manual, or its topics.

        Raises:
            PoiseError: no such topic.
        """

    def messages(self) -> None:
        """What was said so far."""

    def faults(self) -> None:
        """What a delivery may not have of the shot in hand."""

    def patches(self) -> None:
        """How far each patch of the chart that was read last is off."""


@dataclass(frozen=True)
class Command:
    """What can be typed.

    Attributes:
        usage: the word and what follows it.
    """

    usage: str
    does: str
    run: Callable[[Console, str], None]

    @property
    def word(self) -> str:
        return self.usage.split()[0]
