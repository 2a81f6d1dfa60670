"""A command that can be typed after `:`, and what it can ask of the desk."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from poise_tui.actions import Desk
from poise_tui.draw.palette import Theme


class Console(Desk, Protocol):
    """A desk with what only commands use."""

    def theme(self, theme: Theme) -> None: ...

    def manual(self, topic: str) -> None:
        """Shows a page of the manual, or its topics for an empty text.

        Raises:
            PoiseError: no such topic.
        """

    def messages(self) -> None:
        """Shows all messages so far."""

    def faults(self) -> None:
        """Shows the delivery faults of the current shot."""

    def unsure(self) -> None:
        """Shows the shots that the last auto was unsure of, held back on, or left."""

    def patches(self) -> None:
        """Shows the error of each patch of the last chart read.

        Raises:
            PoiseError: no chart has been read.
        """


@dataclass(frozen=True)
class Command:
    """A command of the `:` prompt.

    Attributes:
        usage: the word and its arguments.
        does: a description for the help and the manual.
        choices: returns what can follow the word, for completion.
    """

    usage: str
    does: str
    run: Callable[[Console, str], None]
    choices: Callable[[Console], Sequence[str]] = lambda desk: ()

    @property
    def word(self) -> str:
        return self.usage.split()[0]
