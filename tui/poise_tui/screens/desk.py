"""The desk screen: the desk at work, at one table or another. It hands keys to actions, and draws what follows."""

from collections import deque
from collections.abc import Callable, Sequence
from pathlib import Path

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from poise.errors import PoiseError
from poise.sidecar import State
from poise_tui import commandline
from poise_tui.actions import ACTIONS, Question, action
from poise_tui.actions.shots import narrow as list_by
from poise_tui.crew import Crew
from poise_tui.desk import Mode
from poise_tui.desk.matte import present
from poise_tui.draw.arrange import INSTRUMENTS, Area, Instrument, arrange
from poise_tui.draw.cells import Ink
from poise_tui.draw.look import Look
from poise_tui.draw.palette import Theme
from poise_tui.edits import keying
from poise_tui.helptext import lines, section
from poise_tui.hints import hints
from poise_tui.keymap import Keymap
from poise_tui.keys import key_of
from poise_tui.loading import Loaded, StillReading
from poise_tui.pacing import Line
from poise_tui.screens.arrangement import Arrangement, prompted
from poise_tui.screens.faces import Faces, Present, grids
from poise_tui.screens.standing import standing
from poise_tui.screens.tables import TABLES
from poise_tui.screens.text import TextScreen, wrapped
from poise_tui.session import Session
from poise_tui.survey import Survey
from poise_tui.widgets.cellview import send
from poise_tui.widgets.prompt import LABELS, Prompt

TICK = 0.05
AGAIN = 0.004
"""Seconds before another look at a line that was not free."""
WARM = 1.5
"""Seconds after the start when colour-science is imported, so that the first nudge of warmth need not wait for it."""
MANY = 20
"""Shots whose saving takes so long that it is said before the program ends."""
REMEMBERED = 500
"""Messages that can be read again."""
AT_ONCE = (
    *("quit", "help", "command", "find", "find.again", "hold", "list.name"),
    *(one.name for one in ACTIONS if one.name.startswith("shot.")),
)
"""Actions that never wait behind keys that wait for a picture: they leave the shot, or open a line to type on."""


class DeskScreen(Screen[None], inherit_bindings=False):
    """Shots, instruments, desk and status."""

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
        self.watched: tuple[Sequence[Path], bool] = ((), False)
        self._asking = False
        self._found = ""
        self._line = Line()
        self._drawing = False
        self._leaving = self._ending = False
        self._early: list[events.Key] = []
        self._faces = Faces(TABLES)
        self._arrangement = Arrangement(self.areas)
        self._crew = Crew(session, self._from_thread, self.changed, self.say)

    # What textual asks for

    @property
    def layout(self) -> Arrangement:
        return self._arrangement

    def compose(self) -> ComposeResult:
        yield from self._faces.panes()
        yield Prompt()

    def on_mount(self) -> None:
        self.styles.overflow_x = self.styles.overflow_y = "hidden"
        self.set_interval(TICK, self._crew.tick)
        self.set_timer(WARM, self._crew.warm)
        self._crew.watch(*self.watched)
        self._crew.arrive()

    def on_cell_view_fitted(self) -> None:
        self.changed()

    def on_screen_resume(self) -> None:
        self.changed()

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if self.app.screen is not self:  # typed behind the key that opened another screen
            self.app.screen.post_message(events.Key(event.key, event.character))
            return
        self._press(event)

    def _press(self, event: events.Key) -> None:
        """A key for this screen; what needs a picture that is still being read waits for it, and so do keys behind."""
        if self._asking:
            self._typed(event)
            return
        self._crew.touch()
        self._message, self._warning = "", False
        key = key_of(event.key, event.character)
        name = self._keys.actions[self.session.hand.mode].get(key)
        if self._early and name not in AT_ONCE:
            self._early.append(event)
            return
        if name is None:
            self.say(f"{key} does nothing here; {self._keys.first('help')} lists the keys", warning=True)
            return
        try:
            action(name).run(self)
        except StillReading as fault:
            self._early = [event]
            self.say(str(fault))
        except PoiseError as fault:
            self.say(str(fault), warning=True)

    def _catch_up(self) -> None:
        """Keys that waited for the picture."""
        if self._early and not self._asking and self._crew.picture() is not None:
            early, self._early = self._early, []
            for event in early:
                self._press(event)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        if self._asking:
            self.query_one(Prompt).insert_text_at_cursor(event.text.partition("\n")[0])
        else:
            self.say("pasted text is not taken for keys", warning=True)

    def _typed(self, event: events.Key) -> None:
        """A key while something is asked; it takes effect at once, so that keys typed ahead arrive in their order."""
        prompt = self.query_one(Prompt)
        if event.key == "enter":
            self._answered(prompt.question, prompt.value)
        elif event.key == "escape":
            if prompt.question == "list":
                self.session.listing.ask(text=prompt.opened)
            self._leave_prompt()
        else:
            prompt.edit(event)
            if prompt.question == "list":
                self.session.listing.ask(text=prompt.value)
                self.changed()

    def _answered(self, question: Question, value: str) -> None:
        self._leave_prompt()
        try:
            if question == "find":
                self.find(value)
            elif question == "list":
                list_by(self, text=value.strip())
            elif question == "name":
                self.say(keying.name(self.session, value))
            elif question == "note":
                self.session.state("held", value[:4096])
                self._next()
            else:
                commandline.run(self, value)
        except PoiseError as fault:
            self.say(str(fault), warning=True)

    def areas(self, width: int, height: int) -> dict[str, Area]:
        """Where panes stand now."""
        areas = arrange(width, height, self._view, self.session.hand.mode)
        return prompted(areas, LABELS[self.query_one(Prompt).question]) if self._asking else areas

    # What actions ask for (see `actions.Desk` and `commandline.Console`)

    @property
    def session(self) -> Session:
        return self._session

    @property
    def names(self) -> tuple[str, ...]:
        return self._crew.names

    def go(self, index: int) -> None:
        before = self.session.index
        self.session.go(index)
        if self.session.index != before:
            self._early = []  # they were meant for the shot that is left
            self._crew.arrive(before)

    def onward(self, state: State) -> None:
        self.session.state(state)
        self._next()

    def frame(self, steps: int) -> None:
        if not self.session.slot.shot.numbers:
            self.say("this shot is a still")
        elif self.session.frame(steps):
            self._crew.arrive()
        else:
            self.say("no further frame")

    def auto(self) -> None:
        self._crew.solver.auto()

    def match(self, strength: float) -> None:
        self._crew.solver.match(strength)

    @property
    def survey(self) -> Survey:
        return self._crew.survey

    @property
    def picture(self) -> Loaded:
        loaded = self._crew.picture()
        if loaded is None:
            raise StillReading("waiting for the picture ...")
        if loaded.small is None:
            raise PoiseError(loaded.fault or "the picture can't be read")
        return loaded

    def work(self, mode: Mode) -> None:
        self.session.work(mode)
        self._view = None
        self._rearrange()

    def find(self, text: str | None) -> None:
        self._found = text or self._found
        if not self._found:
            self.say("nothing was looked for yet")
            return
        index = self.session.found(self._found)
        if index is None:
            self.say(f"no shot has {self._found!r} in its name", warning=True)
        elif index == self.session.index:
            self.say(f"no other shot has {self._found!r} in its name")
        else:
            self.go(index)

    def ask(self, question: Question) -> None:
        decision = self.session.slot.decision
        there = {"note": decision.note, "list": self.session.listing.wish.text}.get(question, "")
        if question == "name":
            there = present(decision.correction, self.session.hand).name
        self._asking = True
        self.query_one(Prompt).open(question, there)
        self._rearrange()

    def instrument(self, view: Instrument | None) -> None:
        self._view = view
        self._rearrange()
        there = [name for name in INSTRUMENTS if name in self.areas(*self.size)]
        if view is None and len(there) == 1 and self.session.hand.mode in ("balance", "pick"):
            choose = " ".join(self._keys.first(f"view.{name}") for name in INSTRUMENTS)
            self.say(f"there is room for one instrument; {choose} choose")

    def say(self, text: str, warning: bool = False) -> None:
        self._message, self._warning = text, warning
        self._said.append((text, warning))
        self.changed()

    def messages(self) -> None:
        said = [[(text, Ink.WARNING if warning else Ink.TEXT)] for text, warning in reversed(self._said)]
        self.app.push_screen(TextScreen("messages, the latest first", wrapped(said, self.size.width), self._look))

    def page(self) -> int:
        areas = self.areas(*self.size)
        return max(areas["shots"].height - 2, 1) if "shots" in areas else 1

    def help(self) -> None:
        text = lines(self._keys)
        self.app.push_screen(TextScreen("help", text, self._look, section(text, self.session.hand.mode)))

    def redraw(self) -> None:
        self.refresh()

    def theme(self, theme: Theme) -> None:
        self._look = Look(self._look.able, theme)
        self.app.theme = f"poise-{theme}"
        self.changed()

    def quit(self) -> None:
        waiting = len(self.session.unsaved)
        if waiting <= MANY:
            self._quit()
        elif not self._ending:
            self._ending = True
            self.say(f"saving {waiting} shots ...")
            self.set_timer(2 * TICK, self._quit)

    def _quit(self) -> None:
        self._ending = False
        faults = self._crew.close()
        if not faults or self._leaving:
            self.app.exit()
            return
        self._leaving = True
        self._crew.reopen()
        left = f"{len(faults)} shots are" if len(faults) > 1 else "a shot is"
        self.say(f"{left} not saved: {faults[0]}; quit again to leave, or :sidecars FOLDER", warning=True)

    def close(self) -> None:
        """Saves, because the program is about to end."""
        self._crew.close()

    def changed(self) -> None:
        """Draws as soon as what is already in the queue was dealt with and the line is free."""
        if not self._drawing and self.app.screen is self:
            self._drawing = True
            self.call_later(self._draw_when_free)

    def on_unmount(self) -> None:
        self._crew.end()

    def _from_thread(self, call: Callable[..., None], *arguments: object) -> None:
        if self.is_attached:
            self.call_later(call, *arguments)

    # Drawing

    def _rearrange(self) -> None:
        """Panes get new places: asked of a child, since that is what makes textual forget the old ones.

        The whole is drawn in any case: whatever asks a widget for its region in between makes the compositor arrange
        anew, after which it finds that nothing moved.
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
        areas = self.areas(*self.size)
        self._crew.want(grids(areas, self._look))
        before = self._faces.sent
        self._faces.show(self._state(areas))
        send(self, self._faces.placed(areas))
        self._line.started(self._faces.sent - before)
        self._see_off()

    def _see_off(self) -> None:
        """Waits for a frame to leave, and takes the time."""
        if self._free():
            self._line.drained()
        else:
            self.set_timer(AGAIN, self._see_off)

    def _state(self, areas: dict[str, Area]) -> Present:
        question = LABELS[self.query_one(Prompt).question] if self._asking else ""
        return Present(
            session=self.session,
            keys=self._keys,
            look=self._look,
            crew=self._crew,
            areas=areas,
            hints=hints(self.session, self._keys),
            message=question or self._message or standing(self.session, self._crew),
            warning=self._warning or bool(not self._message and self.session.slot.fault),
            against=self._crew.against(),
        )

    def _next(self) -> None:
        index = self.session.unfinished()
        if index is None:
            self.changed()
            narrow = self.session.listing.wish.narrow
            self.say("no further shot is listed" if narrow else "every shot is balanced, held or skipped")
        else:
            round_ = self.session.listing.behind(index)
            self.go(index)
            if round_:
                self.say("round to the first unfinished shot")

    def _leave_prompt(self) -> None:
        self._asking = False
        self._rearrange()
