"""What an action is, and what it acts on."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from poise.delivery.fault import Fault
from poise.sidecar import State
from poise_tui.desk import MODES, Mode
from poise_tui.draw.arrange import Instrument
from poise_tui.edits.charting import Corners
from poise_tui.edits.chooser import Chooser
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
    "modes",
    "cursor",
    "picking a grey",
    "mattes",
    "curves",
    "over the frames",
    "reel",
    "program",
]
Question = Literal["find", "note", "command", "name", "list", "choice", "number", "version"]


class Desk(Protocol):
    """What actions act on: the session, and what only a screen can do."""

    @property
    def session(self) -> Session: ...

    @property
    def picture(self) -> Loaded:
        """The current picture.

        Raises:
            PoiseError: it is not there, or can't be read.
        """
        ...

    @property
    def survey(self) -> Survey:
        """The measurements of every shot."""
        ...

    def faults_of(self, index: int) -> tuple[Fault, ...]:
        """The known delivery faults of a shot, the worst first."""
        ...

    @property
    def names(self) -> tuple[str, ...]:
        """The transfer functions that the encoding chooser lists; empty until they are imported."""
        ...

    def go(self, index: int) -> None:
        """Goes to another shot."""

    def onward(self, state: State) -> None:
        """Sets the state of the current shot and goes to the next unfinished one."""

    def frame(self, steps: int) -> None:
        """Goes to another frame of a sequence."""

    def play(self) -> None:
        """Plays the frames of a sequence from the one on screen on."""

    def auto(self) -> None:
        """Corrects the current shot, or the group, by measurement."""

    def match(self, strength: float) -> None:
        """Matches the current shot, or the group, to the reference.

        Raises:
            PoiseError: there is no reference, or the shot is the reference.
        """

    def chart(self, corners: Corners | None) -> None:
        """Balances by the chart between four corners, or by one that is searched for."""

    def steady(self) -> None:
        """Takes the flicker out of the current sequence, or puts it back.

        Raises:
            PoiseError: the shot is a still, or not all of its frames are read.
        """

    def work(self, mode: Mode) -> None:
        """Switches to another mode, or back to balance mode."""

    def find(self, text: str | None) -> None:
        """Goes to the next shot whose name contains a text; None repeats the last search."""

    def ask(self, question: Question) -> None:
        """Opens a prompt."""

    def number(self) -> None:
        """Takes the next key for a column, and opens a prompt for its number."""

    def choose(self, chooser: Chooser) -> None:
        """Opens a list to choose from."""

    def instrument(self, view: Instrument | None) -> None:
        """Shows one instrument alone, or all for None."""

    def say(self, text: str, warning: bool = False) -> None:
        """Shows one line to the user."""

    def changed(self) -> None:
        """Redraws what depends on the session."""

    def page(self) -> int:
        """How many shots the list shows at once."""

    def help(self) -> None: ...

    def redraw(self) -> None:
        """Redraws every cell, whatever the terminal shows now."""

    def quit(self) -> None: ...


@dataclass(frozen=True)
class Action:
    """Something a key can do.

    Attributes:
        name: what a keymap file calls it; never changes.
        does: a description for the help and the manual.
        modes: where it is available. Where an action of every mode and one of some modes share a key, the key
            belongs to the latter.
    """

    name: str
    group: Group
    does: str
    run: Callable[[Desk], object]
    modes: tuple[Mode, ...] = MODES


def said(change: Callable[[Session], str]) -> Callable[[Desk], None]:
    """An action that changes the session and shows the message that the change returns."""
    return lambda desk: desk.say(change(desk.session))


def then(desk: Desk, change: Callable[[], object]) -> None:
    """Changes the session and redraws."""
    change()
    desk.changed()
