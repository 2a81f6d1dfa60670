"""Choosing source, delivery and range by name."""

from collections.abc import Callable, Sequence
from typing import Literal

from msgspec.structs import replace

from poise.chain.source import clf_files
from poise.errors import PoiseError
from poise_tui.desk.functions import COMMON
from poise_tui.edits import group
from poise_tui.edits.chooser import Chooser
from poise_tui.session.session import Session

Part = Literal["source", "delivery", "range"]
PARTS: tuple[Part, ...] = ("source", "delivery", "range")


class EncodingChooser(Chooser):
    """Source, delivery and range, one after the other; all that was chosen is taken together.

    Args:
        names: returns the transfer functions; none until they are imported.
    """

    def __init__(self, session: Session, names: Callable[[], tuple[str, ...]]) -> None:
        super().__init__(session)
        self._names, self._part = names, PARTS[0]
        self._files = clf_files(session.slot.shot.first.parent)
        self._was = self._to = session.slot.encoding

    @property
    def label(self) -> str:
        return self._part

    @property
    def turns(self) -> str:
        return PARTS[(PARTS.index(self._part) + 1) % len(PARTS)]

    @property
    def every(self) -> Sequence[str]:
        if self._part == "range":
            return "full", "narrow"
        functions = self._names() or COMMON
        return (*functions, *self._files) if self._part == "source" else functions

    @property
    def chosen(self) -> str:
        names = self.names
        return "" if self.typed.strip() and not names else self._value(self._part)

    def note(self, name: str) -> str:
        return "now" if name == getattr(self._was, self._part) else ""

    def choose(self, name: str) -> None:
        self._to = replace(self._to, **{self._part: name or getattr(self._was, self._part)})
        self.show(replace(self.session.slot.decision, encoding=self._to))

    def turn(self) -> None:
        self._part, self.typed = PARTS[(PARTS.index(self._part) + 1) % len(PARTS)], ""

    def take(self) -> str:
        session = self.session
        self.leave()
        if not self.chosen and not self._names():
            raise PoiseError("the names of transfer functions are still being read; choose again")
        if not self.chosen:
            raise PoiseError(f"no {self._part} has {self.typed.strip()!r} in its name")
        changes = {str(part): to for part in PARTS if (to := self._value(part)) != getattr(self._was, part)}
        if not changes:
            return "the encoding stays as it was"
        words = ", ".join(f"{part} is {value}" for part, value in changes.items())
        result = group.encode(session, changes)
        refused = group.summary(session, result, words + ": set on", "as it was")
        return refused or words + (f" for {result.moved} shots" if result.asked > 1 else "")

    def _value(self, part: Part) -> str:
        return str(getattr(self._to, part))
