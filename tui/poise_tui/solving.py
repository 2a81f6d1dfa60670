"""Solving: starting points and matches for the shot in hand, measured in the background and taken in when they come."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from poise.commands.auto import summary
from poise.commands.match import comparable, distributed, line
from poise.correction import NEUTRAL, Correction, Encoding
from poise.errors import PoiseError
from poise.frames import read
from poise_tui.background import Latest
from poise_tui.decision import Decision
from poise_tui.loading import Loader, Stamp
from poise_tui.session import Session

if TYPE_CHECKING:
    from poise.solve import Distribution

Say = Callable[[str, bool], None]


@dataclass(frozen=True)
class Solved:
    """What was found for a shot.

    Attributes:
        decision: the one that the shot had when it was asked for.
        hand: whether the correction counts as made by a person, whom no starting point may overrule unasked.
        notes: what is to be said, the last one last.
    """

    index: int
    decision: Decision
    correction: Correction
    hand: bool
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Aim:
    """A reference as it was measured: of which file, under what, and what came out."""

    file: Path
    stamp: Stamp | None
    encoding: Encoding
    correction: Correction
    found: "Distribution"


class Solver:
    """Solves for one session.

    Args:
        loader: for whole frames.
        later: hands a call over to the thread that answers keys.
        say: one line to the user, and whether it is a warning.
    """

    def __init__(self, session: Session, loader: Loader, later: Callable[..., None], say: Say) -> None:
        self._session, self._loader, self._say = session, loader, say
        self._aim: Aim | None = None
        self._worker = Latest("solve", lambda found: later(self._take, found))

    def auto(self) -> None:
        """Measures a starting point, from every pixel of the frame."""
        index, slot = self._session.index, self._session.slot
        decision, file, encoding = slot.decision, slot.file, slot.encoding

        def solve() -> Solved:
            from poise.solve import auto

            frame = self._loader.whole(file)
            solution = auto(frame.colour, encoding, frame.depth)
            before, after = decision.correction, solution.correction
            gone = before.mattes or before.curves != after.curves
            lost = ("auto: the mattes and curves that were there are gone; undo brings them back",) if gone else ()
            notes = (*lost, *(f"auto: {note}" for note in solution.notes))
            return Solved(index, decision, after, False, (*notes, f"auto: {summary(after)}  (:messages tells why)"))

        self._say("measuring ...", False)
        self._worker.do(solve)

    def match(self, strength: float = 1.0) -> None:
        """Measures what brings the shot to the reference.

        Raises:
            PoiseError: there is no reference, or the shot is it.
        """
        session, slot, reference = self._session, self._session.slot, self._session.reference
        if reference is None:
            raise PoiseError("there is no reference yet: take a shot, or :reference FILE")
        if reference is slot:
            raise PoiseError("this shot is the reference itself")
        comparable(slot.encoding, reference.encoding)
        index, decision, file, encoding = session.index, slot.decision, slot.file, slot.encoding
        wanted = reference.file, Stamp.of(reference.file), reference.encoding, reference.decision.correction

        def solve() -> Solved:
            from poise.solve import match

            aim = self._aimed(*wanted)
            frame = self._loader.whole(file)
            result = match(frame.colour, decision.correction, encoding, frame.depth, aim, strength)
            hand = decision.hand and decision.correction != NEUTRAL
            return Solved(index, decision, result.correction, hand, (f"match: {line(result)}",))

        self._say("measuring ...", False)
        self._worker.do(solve)

    def end(self) -> None:
        """Stops the thread."""
        self._worker.end()

    def _aimed(self, file: Path, stamp: Stamp | None, encoding: Encoding, correction: Correction) -> "Distribution":
        """The reference's distribution, measured once: a reel of shots is matched to one reference."""
        aim = self._aim
        if aim is None or (aim.file, aim.stamp, aim.encoding, aim.correction) != (file, stamp, encoding, correction):
            aim = Aim(file, stamp, encoding, correction, distributed(read(file), encoding, correction))
            self._aim = aim
        return aim.found

    def _take(self, found: Solved | Exception) -> None:
        if isinstance(found, Exception):
            self._say(str(found), True)
            return
        if self._session.slots[found.index].decision != found.decision:
            self._say("the shot was changed meanwhile; what was measured for it was not taken", True)
            return
        self._session.correct(found.correction, hand=found.hand, index=found.index)
        for note in found.notes:
            self._say(note, False)
