"""The drawing of the desk screen: its panes, and when and how they are sent; `desk.py` handles keys."""

from collections import deque
from collections.abc import Callable, Sequence

from textual.app import ComposeResult
from textual.screen import Screen

from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise_tui.desk import readout
from poise_tui.draw.arrange import Area, Instrument, arrange
from poise_tui.draw.look import Look
from poise_tui.edits.chooser import Chooser
from poise_tui.edits.completion import Completion
from poise_tui.keys.hints import hints
from poise_tui.keys.keymap import Keymap
from poise_tui.screens.arrangement import Arrangement, prompted
from poise_tui.screens.modes import MODES
from poise_tui.screens.panes import Panes, Present, grids
from poise_tui.screens.status import status_line
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import send
from poise_tui.terminal.line import Line as Wire
from poise_tui.widgets.prompt import LABELS, Prompt
from poise_tui.workers.coordinator import Coordinator

AGAIN = 0.004
"""Seconds before a busy line is checked again."""
REMEMBERED = 500
"""How many messages can be read again."""


class DeskBase(Screen[None], inherit_bindings=False):
    """Shots, instruments, desk and status.

    Args:
        free: whether the line to the terminal can take a frame.
        passed: the files that were passed over when the folder was read, one line each.
    """

    AUTO_FOCUS = ""  # keys belong to the screen until something is asked

    def __init__(
        self, session: Session, keys: Keymap, look: Look, free: Callable[[], bool], passed: Sequence[str] = ()
    ) -> None:
        super().__init__()
        self._session, self._keys, self._look, self._free = session, keys, look, free
        self._view: Instrument | None = None
        more = f" (and {len(passed) - 1} more)" if len(passed) > 1 else ""
        self._message, self._warning = (f"passed over{more}: {passed[0]}" if passed else ""), bool(passed)
        self._said = deque(((f"passed over: {line}", True) for line in reversed(passed)), REMEMBERED)
        self._asking = False
        self._chooser: Chooser | None = None
        self._completion: Completion | None = None
        self._column: int | None = None
        self._line = Wire()
        self._drawing = False
        self._panes = Panes(MODES)
        self._arrangement = Arrangement(self.areas)
        self._coordinator = Coordinator(session, self._from_thread, self.changed, self.say, self.hint)

    @property
    def session(self) -> Session:
        return self._session

    @property
    def layout(self) -> Arrangement:
        return self._arrangement

    def compose(self) -> ComposeResult:
        yield from self._panes.panes()
        yield Prompt()

    def on_cell_view_fitted(self) -> None:
        self.changed()

    def on_screen_resume(self) -> None:
        self.changed()

    def on_unmount(self) -> None:
        self._coordinator.end()

    def _from_thread(self, call: Callable[..., None], *arguments: object) -> None:
        if self.is_attached:
            self.call_later(call, *arguments)

    def areas(self, width: int, height: int) -> dict[str, Area]:
        """The areas of the panes in a screen of a size."""
        areas = arrange(width, height, self._view, self.session.hand.mode)
        if (self._chooser or self._completion) and "shots" in areas:
            areas["choices"] = areas.pop("shots")
        return prompted(areas, self._label) if self._asking else areas

    @property
    def _label(self) -> str:
        """What the prompt asks for."""
        if self._column is not None:
            name, _, unit = readout(self.session.hand, self._column, self.session.slot.decision)
            return f"{name}, {unit}:" if unit else f"{name}:"
        if self._chooser is not None:
            turns = self._chooser.turns
            return self._chooser.label + (f" (tab: {turns}):" if turns else ":")
        return LABELS[self.query_one(Prompt).question]

    def say(self, text: str, warning: bool = False) -> None:
        self._message, self._warning = text, warning
        self._said.append((text, warning))
        self.changed()

    def hint(self, text: str) -> None:
        """Shows one line that nobody asked for; where another is on screen, it can be read with the messages."""
        if self._message:
            self._said.append((text, False))
        else:
            self.say(text)

    def hold_to(self, limits: Limits) -> None:
        """Sets the delivery limits."""
        self._coordinator.hold_to(limits)

    def faults_of(self, index: int) -> tuple[Fault, ...]:
        """The known delivery faults of a shot, the worst first."""
        return self._coordinator.delivery.faults(index)

    def changed(self) -> None:
        """Draws as soon as all queued messages are handled and the line is free."""
        if not self._drawing and self.app.screen is self:
            self._drawing = True
            self.call_later(self._draw_when_free)

    def _catch_up(self) -> None:
        """Runs what waited for a picture, before drawing; overridden."""

    def _rearrange(self) -> None:
        """Gives panes their new places; asked of a child, since that makes textual drop the old ones.

        Everything is redrawn in any case: a call that asks a widget for its region in between makes the compositor
        arrange again, after which it finds that nothing moved.
        """
        self.query_one(Prompt).refresh(layout=True)
        self.refresh()
        self.changed()

    def _draw_when_free(self) -> None:
        if self.app.screen is not self:  # `is_current` is true below another screen as well
            self._drawing = False
            return
        wait = max(self._line.wait(), 0.0 if self._free() else AGAIN)
        if wait:
            self.set_timer(wait, self._draw_when_free)
            return
        self._drawing = False
        self._catch_up()
        if self._chooser is not None:
            self._chooser.narrow(self.query_one(Prompt).value)
        areas = self.areas(*self.size)
        self._coordinator.want(grids(areas, self._look, self.session.hand))
        before = self._panes.sent
        self._panes.show(self._state(areas))
        send(self, self._panes.placed(areas))
        self._line.started(self._panes.sent - before)
        self._see_off()

    def _see_off(self) -> None:
        """Waits for a frame to leave, and takes the time."""
        if self._free():
            self._line.drained()
        else:
            self.set_timer(AGAIN, self._see_off)

    def _state(self, areas: dict[str, Area]) -> Present:
        question = self._label if self._asking else ""
        return Present(
            session=self.session,
            keys=self._keys,
            look=self._look,
            coordinator=self._coordinator,
            areas=areas,
            hints=hints(self.session, self._keys),
            message=question or self._message or status_line(self.session, self._coordinator),
            warning=self._warning or bool(not self._message and self.session.slot.fault),
            against=self._coordinator.against(),
            listed=self._chooser or self._completion,
        )
