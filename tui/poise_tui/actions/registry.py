"""What an action is, and what it acts on."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from poise.sidecar import State
from poise_tui.desk import MODES, Mode
from poise_tui.draw.arrange import Instrument
from poise_tui.edits.charting import Corners
from poise_tui.measure.loaded import Loaded
from poise_tui.session.session import Session
from poise_tui.workers.survey import Survey

Group = Literal[
    "desk",
    "zone and step",
    "decide",
    "shots",
    "see",
    "compare",
    "tables",
    "cursor",
    "picking a grey",
    "mattes",
    "curves",
    "over the frames",
    "reel",
    "program",
]
Question = Literal["find", "note", "command", "name", "list"]


class Desk(Protocol):
    """What actions act on: the session, and what only a screen can do."""

    @property
    def session(self) -> Session: ...

    @property
    def picture(self) -> Loaded:
        """The picture in hand.

        Raises:
            PoiseError: it is not there, or can't be read.
        """
        ...

    @property
    def survey(self) -> Survey:
        """How every shot stands."""
        ...

    @property
    def names(self) -> tuple[str, ...]:
        """The transfer functions that an encoding column goes through; empty while they are read."""
        ...

    def go(self, index: int) -> None:
        """Another shot."""

    def onward(self, state: State) -> None:
        """Settles the shot in hand and goes on to the next unfinished one."""

    def frame(self, steps: int) -> None:
        """Another frame of a sequence."""

    def auto(self) -> None:
        """A starting point, measured."""

    def match(self, strength: float) -> None:
        """Towards the reference, measured.

        Raises:
            PoiseError: there is no reference, or the shot is it.
        """

    def chart(self, corners: Corners | None) -> None:
        """Balance by a chart between four corners, or wherever one is found."""

    def work(self, mode: Mode) -> None:
        """Another table, or back to balancing."""

    def find(self, text: str | None) -> None:
        """The next shot by name; the last text again for None."""

    def ask(self, question: Question) -> None:
        """Opens a line to type on."""

    def instrument(self, view: Instrument | None) -> None:
        """One instrument alone, or all."""

    def say(self, text: str, warning: bool = False) -> None:
        """One line to the user."""

    def changed(self) -> None:
        """The session changed: draw what follows from it."""

    def page(self) -> int:
        """How many shots are in sight."""

    def help(self) -> None: ...

    def redraw(self) -> None:
        """Everything, whatever the terminal may show."""

    def quit(self) -> None: ...


@dataclass(frozen=True)
class Action:
    """Something a key can do.

    Attributes:
        name: stable; what a keymap file calls it.
        does: for help and README.
        modes: where it can be done. Where an action of every mode and one of some modes have the same key, the key is
            that of the latter.
    """

    name: str
    group: Group
    does: str
    run: Callable[[Desk], object]
    modes: tuple[Mode, ...] = MODES


def said(change: Callable[[Session], str]) -> Callable[[Desk], None]:
    """Does something to the session, and says what was done."""
    return lambda desk: desk.say(change(desk.session))


def then(desk: Desk, change: Callable[[], object]) -> None:
    """Does something to the session, and draws what follows."""
    change()
    desk.changed()
