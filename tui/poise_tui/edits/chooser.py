"""Choosing from a list by typing a part of a name: the chosen one shows on the instruments at once."""

from collections.abc import Sequence

from poise.sidecar.decision import Decision
from poise_tui.session.session import Session


class Listed:
    """Names in a list, one of them the current one."""

    @property
    def label(self) -> str:
        """What the list is of, in a word or two."""
        raise NotImplementedError

    @property
    def names(self) -> list[str]:
        """The names, as far as they are listed."""
        raise NotImplementedError

    @property
    def place(self) -> int:
        """The place of the current name."""
        raise NotImplementedError

    @property
    def keys(self) -> tuple[tuple[str, str], ...]:
        """The keys that matter, and what each does."""
        raise NotImplementedError

    def note(self, name: str) -> str:
        """A word about a name, such as "now"."""
        return ""


class Chooser(Listed):
    """A list of names, narrowed by what is typed. Nothing is decided until the choice is taken."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.typed = ""

    @property
    def keys(self) -> tuple[tuple[str, str], ...]:
        turns = (("tab", self.turns),) if self.turns else ()
        return (("up down", "choose"), *turns, ("enter", "take"), ("escape", "leave as it was"))

    @property
    def turns(self) -> str:
        """What Tab goes to; empty if it does nothing."""
        return ""

    @property
    def every(self) -> Sequence[str]:
        """All names."""
        raise NotImplementedError

    @property
    def chosen(self) -> str:
        """The chosen name; empty if there is none."""
        raise NotImplementedError

    def choose(self, name: str) -> None:
        """Chooses a name and shows its effect; an empty name goes back to what was there at first."""
        raise NotImplementedError

    def take(self) -> str:
        """Decides for the chosen name; returns a message.

        Raises:
            PoiseError: no name was chosen, or it can't be used.
        """
        raise NotImplementedError

    def turn(self) -> None:
        """Does what Tab does."""

    @property
    def names(self) -> list[str]:
        """The names that contain every typed word, regardless of case; a name typed in full is the first."""
        words, whole = self.typed.casefold().split(), self.typed.casefold().strip()
        found = [name for name in self.every if all(word in name.casefold() for word in words)]
        return sorted(found, key=lambda name: name.casefold() != whole)

    @property
    def place(self) -> int:
        """The place of the chosen name in the narrowed list; 0 if it is not in it."""
        names = self.names
        return names.index(self.chosen) if self.chosen in names else 0

    def narrow(self, text: str) -> None:
        """Narrows the list to a text, and chooses its first name; the same text again, if names have come since."""
        changed, self.typed = text != self.typed, text
        names = self.names
        if changed or (text.strip() and names and self.chosen not in names):
            self.choose(next(iter(names), "") if text.strip() else "")

    def move(self, by: int) -> None:
        """Chooses the name some rows further down."""
        names = self.names
        if names:
            self.choose(names[min(max(self.place + by, 0), len(names) - 1)])

    def show(self, decision: Decision) -> None:
        """Shows what a decision would do."""
        self.session.before = False
        self.session.trial = decision

    def leave(self) -> None:
        """Leaves everything as it was."""
        self.session.trial = None
