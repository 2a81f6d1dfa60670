"""The balance screen: the desk at work. It hands keys to actions, and draws what the session says."""

import time
from collections.abc import Callable, Sequence

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from poise.correction import NEUTRAL
from poise.errors import PoiseError
from poise.sidecar import State
from poise_tui import commandline
from poise_tui.actions import Question, action
from poise_tui.background import Latest, Saver
from poise_tui.draw.arrange import INSTRUMENTS, Area, Instrument, arrange
from poise_tui.draw.look import Look
from poise_tui.draw.palette import Theme
from poise_tui.hints import hints, looks_flat
from poise_tui.keymap import Keymap
from poise_tui.keys import key_of
from poise_tui.loading import Loaded, Loader, Stamp
from poise_tui.pacing import Line
from poise_tui.saving import Outcome
from poise_tui.screens.arrangement import Arrangement
from poise_tui.screens.faces import Faces, grids
from poise_tui.screens.help import HelpScreen
from poise_tui.session import Picture, Session
from poise_tui.viewing import Made, Viewer, Wanted
from poise_tui.widgets.cellview import CellView, send
from poise_tui.widgets.prompt import LABELS, Prompt

REST = 0.4
"""Seconds without a key after which the whole proxy is counted."""
EXACT = 0.7
"""Seconds without a key after which every pixel of the file is read."""
TICK = 0.05
AGAIN = 0.004
"""Seconds before another look at a line that was not free."""
WATCH = 1.0
"""Seconds between looks at whether somebody else changed the files in hand."""
WARM = 1.5
"""Seconds after the start when colour-science is imported, so that the first nudge of warmth need not wait for it."""
AHEAD = 2
"""Neighbours that are read before they are asked for, in the direction of travel; one in the other."""


class BalanceScreen(Screen[None], inherit_bindings=False):
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
        self._asking = False
        self._found = ""
        self._line = Line()
        self._drawing = False
        self._touched = 0.0
        self._travel = 1
        self._refined = self._measured = True
        self._stamp: Stamp | None = None
        self._sidecar_stamp: Stamp | None = None
        self._watched = 0.0
        self._scanned = 0
        self._names: tuple[str, ...] = ()
        self._told: set[int] = set()
        self._faces = Faces()
        self._arrangement = Arrangement(self.areas)
        self._loader = Loader(lambda loaded: self._from_thread(self._loaded, loaded))
        self._viewer = Viewer(self._loader, lambda made: self._from_thread(self._made, made))
        self._solver = Latest("auto", lambda found: self._from_thread(self._solved, found))
        self._warmer = Latest("warm", lambda found: self._from_thread(self._warmed, found))
        self._saver = Saver(lambda: self._from_thread(self._saved))

    # What textual asks for

    @property
    def layout(self) -> Arrangement:
        return self._arrangement

    def compose(self) -> ComposeResult:
        yield from self._faces.panes()
        yield Prompt()

    def on_mount(self) -> None:
        self.styles.overflow_x = self.styles.overflow_y = "hidden"
        self._touched = time.monotonic()
        self.set_interval(TICK, self._tick)
        self.set_timer(WARM, lambda: self._warmer.do(_names))
        self._arrive()

    def on_resize(self, event: events.Resize) -> None:
        self.changed()

    def on_screen_resume(self) -> None:
        self.changed()

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if not self.is_current:  # typed behind the key that opened another screen
            self.app.screen.post_message(events.Key(event.key, event.character))
            return
        if self._asking:
            self._typed(event)
            return
        self._touched = time.monotonic()
        self._message, self._warning = "", False
        key = key_of(event.key, event.character)
        name = self._keys.actions.get(key)
        if name is None:
            self.say(f"{key} does nothing; {self._keys.first('help')} lists the keys", warning=True)
            return
        try:
            action(name).run(self)
        except PoiseError as fault:
            self.say(str(fault), warning=True)

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
            self._leave_prompt()
        else:
            prompt.edit(event)

    def _answered(self, question: Question, value: str) -> None:
        self._leave_prompt()
        try:
            if question == "find":
                self.find(value)
            elif question == "note":
                self.session.state("held", value[:4096])
                self._next()
            else:
                commandline.run(self, value)
        except PoiseError as fault:
            self.say(str(fault), warning=True)

    def areas(self, width: int, height: int) -> dict[str, Area]:
        """Where panes stand now."""
        areas = arrange(width, height, self._view)
        if self._asking and "hints" in areas:
            line = areas["hints"]
            label = min(len(LABELS[self.query_one(Prompt).question]) + 1, line.width - 1)
            areas["hints"] = Area(0, line.y, label, 1)
            areas["prompt"] = Area(label, line.y, line.width - label, 1)
        return areas

    # What actions ask for (see `actions.Desk` and `commandline.Console`)

    @property
    def session(self) -> Session:
        return self._session

    def nudge(self, place: int, direction: int) -> None:
        self.session.nudge(place, direction, self._names)
        self.changed()

    def home(self, place: int) -> None:
        self.session.home(place)
        self.changed()

    def go(self, index: int) -> None:
        before = self.session.index
        self.session.go(index)
        if self.session.index != before:
            self._travel = 1 if self.session.index > before else -1
            self._arrive()

    def onward(self, state: State) -> None:
        self.session.state(state)
        self._next()

    def frame(self, steps: int) -> None:
        if not self.session.slot.shot.numbers:
            self.say("this shot is a still")
        elif self.session.frame(steps):
            self._arrive()
        else:
            self.say("no further frame")

    def auto(self) -> None:
        session, loader = self.session, self._loader
        index, slot = session.index, session.slot
        decision, file, encoding = slot.decision, slot.file, slot.encoding

        def solve() -> tuple[object, ...]:
            from poise.solve import auto

            frame = loader.whole(file)
            return index, decision, auto(frame.colour, encoding, frame.depth)

        self.say("measuring ...")
        self._solver.do(solve)

    def paste(self) -> None:
        self.session.paste()
        self.changed()

    def find(self, text: str | None) -> None:
        self._found = text or self._found
        if not self._found:
            self.say("nothing was looked for yet")
            return
        index = self.session.found(self._found)
        if index is None:
            self.say(f"no shot has {self._found!r} in its name", warning=True)
        else:
            self.go(index)

    def ask(self, question: Question) -> None:
        self._asking = True
        note = self.session.slot.decision.note if question == "note" else ""
        self.query_one(Prompt).open(question, note)
        self._rearrange()

    def instrument(self, view: Instrument | None) -> None:
        self._view = view
        self._rearrange()
        if view is None and len([name for name in INSTRUMENTS if name in self.areas(*self.size)]) == 1:
            self.say("there is room for one instrument; 5 to 9 choose")

    def say(self, text: str, warning: bool = False) -> None:
        self._message, self._warning = text, warning
        self.changed()

    def page(self) -> int:
        areas = self.areas(*self.size)
        return max(areas["shots"].height - 2, 1) if "shots" in areas else 1

    def help(self) -> None:
        self.app.push_screen(HelpScreen(self._keys, self._look))

    def redraw(self) -> None:
        for pane in self.query(CellView):
            pane.forget()
        self._rearrange()

    def theme(self, theme: Theme) -> None:
        self._look = Look(self._look.able, theme)
        self.app.theme = f"poise-{theme}"
        self.changed()

    def names(self) -> tuple[str, ...]:
        return self._names

    def quit(self) -> None:
        faults = self.close()
        if faults and not self._told & {-1}:
            self._told.add(-1)
            self._saver = Saver(lambda: self._from_thread(self._saved))
            left = f"{len(faults)} shots are" if len(faults) > 1 else "a shot is"
            self.say(f"{left} not saved: {faults[0]}; quit again to leave, or :sidecars FOLDER", warning=True)
            return
        self.app.exit()

    def close(self) -> list[PoiseError]:
        """Everything on disk, as far as it can be; what could not be saved."""
        self._saver.end()
        self._settle()
        return list(self.session.save_all())

    def _settle(self) -> list[Outcome]:
        outcomes = self._saver.outcomes()
        for outcome in outcomes:
            self.session.finish(outcome)
        return outcomes

    def changed(self) -> None:
        """Draws as soon as what is already in the queue was dealt with and the line is free."""
        if not self._drawing:
            self._drawing = True
            self.call_later(self._draw_when_free)

    # Drawing

    def _rearrange(self) -> None:
        """Panes get new places: asked of a child, since that is what makes textual forget the old ones."""
        self.query_one(Prompt).refresh(layout=True)
        self.call_after_refresh(self.changed)

    def _draw_when_free(self) -> None:
        if not self.is_current:
            self._drawing = False
            return
        wait = max(self._line.wait(), 0.0 if self._free() else AGAIN)
        if wait:
            self.set_timer(wait, self._draw_when_free)
            return
        self._drawing = False
        areas = self.areas(*self.size)
        self._want(areas)
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

    def _state(self, areas: dict[str, Area]) -> "Faces.State":
        slot = self.session.slot
        question = LABELS[self.query_one(Prompt).question] if self._asking else ""
        return Faces.State(
            session=self.session,
            keys=self._keys,
            look=self._look,
            viewer=self._viewer,
            loaded=self._loader.get(slot.file),
            areas=areas,
            hints=hints(self.session, self._keys),
            message=question or self._message or self._standing(),
            warning=self._warning or bool(not self._message and self._standing()),
        )

    def _standing(self) -> str:
        """What stays to be said about the shot in hand until it is settled."""
        slot = self.session.slot
        if slot.conflict:
            return "changed by someone else: :mine keeps yours, :theirs takes theirs; nothing is lost by either"
        if slot.fault:
            return f"{slot.fault.reason}  (:mine, :sidecars FOLDER)" if slot.unsaved else str(slot.fault.reason)
        return ""

    def _want(self, areas: dict[str, Area]) -> None:
        slot = self.session.slot
        loaded = self._loader.get(slot.file)
        if loaded is None or loaded.small is None:
            self._viewer.forget()
            return
        correction = NEUTRAL if self.session.before else slot.decision.correction
        wanted = Wanted(loaded, correction, slot.encoding, grids(areas, self._look))
        if wanted != self._viewer.asked:
            self._refined = self._measured = False
            self._viewer.want(wanted)

    def _arrive(self) -> None:
        """At another shot or frame: it is asked for, and so are its neighbours."""
        session = self.session
        slot = session.slot
        order = [slot.file]
        for step in (*range(1, AHEAD + 1), -1):
            index = session.index + step * self._travel
            if 0 <= index < len(session.slots):
                order.append(session.slots[index].file)
        if slot.shot.numbers:
            order += [slot.shot.files[i] for i in (slot.frame + 1, slot.frame - 1) if 0 <= i < len(slot.shot.files)]
        self._loader.want(order)
        self._stamp = Stamp.of(slot.file)
        self._sidecar_stamp = Stamp.of(slot.shot.sidecar_path)
        loaded = self._loader.get(slot.file)
        if loaded is not None:
            self._seen(session.index, loaded)
        self.changed()

    def _next(self) -> None:
        index = self.session.unfinished()
        if index is None:
            self.changed()
            self.say("every shot is balanced, held or skipped")
        else:
            self.go(index)

    def _leave_prompt(self) -> None:
        self._asking = False
        self._rearrange()

    # What comes back from threads

    def _from_thread(self, call: Callable[..., None], *arguments: object) -> None:
        if self.is_attached:
            self.call_later(call, *arguments)

    def _loaded(self, loaded: Loaded) -> None:
        for index in {self.session.index, *self._around()}:
            if self.session.slots[index].file == loaded.file:
                self._seen(index, loaded)
        if loaded.file == self.session.slot.file:
            self.changed()

    def _around(self) -> range:
        at, count = self.session.index, len(self.session.slots)
        return range(max(at - AHEAD, 0), min(at + AHEAD + 1, count))

    def _seen(self, index: int, loaded: Loaded) -> None:
        if loaded.small is None:
            self._faces.broken.add(index)
            self.session.seen(index, None)
            return
        self._faces.broken.discard(index)
        self.session.seen(index, Picture(loaded.width, loaded.height, loaded.linear, loaded.grey))

    def _made(self, made: Made) -> None:
        if self._viewer.take(made):
            readings = self._viewer.exact or (self._viewer.view.readings if made.fine and self._viewer.view else None)
            if readings is not None:
                self._faces.levels[self.session.index] = (readings.luma.black, readings.luma.white)
                self._hint_at_log(made)
            self.changed()

    def _hint_at_log(self, made: Made) -> None:
        """Once a shot: a picture as flat as log code, taken for display code, is pointed out."""
        index, view = self.session.index, self._viewer.view
        if index in self._told or view is None or made.wanted.correction != NEUTRAL:
            return
        if looks_flat(view.readings, made.wanted.encoding):
            self._told.add(index)
            self.say("as flat as log code; if it is, name its curve: :source NAME, and a display one: :delivery NAME")

    def _solved(self, found: object) -> None:
        if isinstance(found, Exception):
            self.say(str(found), warning=True)
            return
        assert isinstance(found, tuple)
        index, decision, solution = found
        if self.session.slots[index].decision != decision:
            self.say("the shot was changed meanwhile; its starting point was not taken", warning=True)
            return
        self.session.correct(solution.correction, hand=False, index=index)
        self.say("auto: " + "; ".join(solution.notes))

    def _warmed(self, found: object) -> None:
        if isinstance(found, tuple):
            self._names = found

    def _saved(self) -> None:
        outcomes = self._settle()
        if any(outcome.index == self.session.index for outcome in outcomes):
            self._sidecar_stamp = Stamp.of(self.session.slot.shot.sidecar_path)
        if any(outcome.fault for outcome in outcomes) or time.monotonic() - self._touched >= REST:
            self.changed()  # while keys follow each other, "saving" may stand a moment longer

    # What happens by itself

    def _tick(self) -> None:
        now = time.monotonic()
        for index in self.session.due():
            self._saver.do(self.session.job(index))
        if not self._refined and now - self._touched >= REST:
            self._refined = True
            self._viewer.refine()
            self.changed()
        if not self._measured and now - self._touched >= EXACT:
            self._measured = True
            self._viewer.read_exactly()
        if now - self._watched >= WATCH:
            self._watched = now
            self._watch()
        if now - self._touched >= EXACT:
            self._read_ahead(now + 0.005)

    def _read_ahead(self, until: float) -> None:
        """Reads sidecars of shots not seen yet, a few at a time, so that states are known before they are needed."""
        slots = self.session.slots
        while self._scanned < len(slots) and time.monotonic() < until:
            self.session.load(self._scanned)
            self._scanned += 1

    def _watch(self) -> None:
        """Whether somebody else changed the picture or the sidecar in hand."""
        slot = self.session.slot
        stamp = Stamp.of(slot.file)
        if stamp != self._stamp:
            self._arrive()
            self.say("the picture was replaced" if stamp else "the picture is gone", warning=stamp is None)
        there = Stamp.of(slot.shot.sidecar_path)
        if there != self._sidecar_stamp and not slot.saving:
            self._sidecar_stamp = there
            if not slot.unsaved and self.session.reread(self.session.index):
                self.say("the sidecar was changed by someone else and taken over; undo goes back")
            else:
                self.changed()

    def on_unmount(self) -> None:
        self._loader.end()
        self._viewer.end()
        self._solver.end()
        self._warmer.end()


def _names() -> tuple[str, ...]:
    from poise.colour.transfer import names

    return names()
