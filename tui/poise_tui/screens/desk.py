"""The desk screen: it hands keys to actions, and does what actions and commands ask for; `desk_base` draws."""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from textual import events

from poise.delivery.fault import brief
from poise.errors import PoiseError
from poise.sidecar import State
from poise_tui import commandline
from poise_tui.actions import ACTIONS, MOVES, Question, action
from poise_tui.actions.columns import report
from poise_tui.actions.shots import narrow as list_by
from poise_tui.desk import Mode
from poise_tui.desk.settings import number, of_column
from poise_tui.draw.arrange import INSTRUMENTS, Instrument
from poise_tui.draw.look import Look
from poise_tui.draw.palette import Theme
from poise_tui.edits import group, keying, versions
from poise_tui.edits.charting import Corners
from poise_tui.keys.keymap import Keymap
from poise_tui.keys.names import key_of
from poise_tui.measure.loaded import Loaded
from poise_tui.screens.desk_prompt import DeskPrompt
from poise_tui.session.playing import USUAL, Playing
from poise_tui.session.session import Session
from poise_tui.session.shot_state import StillReading
from poise_tui.widgets.prompt import Prompt
from poise_tui.workers.survey import Survey

TICK = 0.05
WARM = 1.5
"""Seconds after the start when colour-science is imported, so that no list of transfer functions need wait for it."""
MANY = 20
"""From this many unsaved shots on, quitting first says that it is saving."""
AT_ONCE = (
    *("quit", "help", "command", "find", "find.again", "hold", "list.name"),
    *(one.name for one in ACTIONS if one.name.startswith("shot.")),
)
"""Actions that never wait behind keys that wait for a picture: they leave the shot, or open a prompt."""


class DeskScreen(DeskPrompt, inherit_bindings=False):
    """Runs the action of each key, and implements `actions.Desk` and `commandline.Console`."""

    def __init__(
        self, session: Session, keys: Keymap, look: Look, free: Callable[[], bool], passed: Sequence[str] = ()
    ) -> None:
        super().__init__(session, keys, look, free, passed)
        self.watched: tuple[Sequence[Path], bool] = ((), False)
        self._found = ""
        self._leaving = self._ending = False
        self._early: list[events.Key] = []
        self._playing: Playing | None = None

    def on_mount(self) -> None:
        self.styles.overflow_x = self.styles.overflow_y = "hidden"
        self.set_interval(TICK, self._tick)
        self.set_timer(WARM, self._coordinator.warm)
        self._coordinator.watch(*self.watched)
        self._coordinator.arrive()

    def _tick(self) -> None:
        self._coordinator.tick()
        if self._playing is not None:
            self._play_on(self._playing)

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if self.app.screen is not self:  # typed after the key that opened another screen
            self.app.screen.post_message(events.Key(event.key, event.character))
            return
        self._press(event)

    def _press(self, event: events.Key) -> None:
        """Handles a key; an action that needs a picture still being read waits for it, and so do later keys."""
        if self._asking:
            self._typed(event)
            return
        self._coordinator.touch()
        self._message, self._warning = "", False
        key = key_of(event.key, event.character)
        name = self._keys.actions[self.session.hand.mode].get(key)
        if self._playing is not None and (name is None or action(name).group != "see"):
            self._stop()
            if name == "play":
                return
        if self._early and (name not in AT_ONCE or (name == "quit" and event.key != self._early[-1].key)):
            self._early.append(event)
            if name == "quit":
                self.say("keys are waiting for the disk; quit again to leave without them", warning=True)
            return
        if name not in (None, *AT_ONCE) and not self.session.load(self.session.index).loaded:
            self._early = [event]
            self.say("waiting for the sidecar ...")
            return
        if name is None or name.rpartition(".")[2] not in (MOVES[0], MOVES[-1]):
            self.session.end_run()
        try:
            if self._numbering:
                self._number_of(name)
            elif name is None:
                self.say(f"{key} does nothing here; {self._keys.first('help')} lists the keys", warning=True)
            else:
                action(name).run(self)
        except StillReading as fault:
            self._early = [event]
            self.say(str(fault))
        except PoiseError as fault:
            self.say(str(fault), warning=True)

    def _catch_up(self) -> None:
        """Handles the keys that waited for the picture."""
        if (
            self._early
            and not self._asking
            and self._coordinator.pictures.current() is not None
            and self.session.slot.loaded
        ):
            early, self._early = self._early, []
            for event in early:
                self._press(event)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        if self._asking:
            self.query_one(Prompt).insert_text_at_cursor(event.text.partition("\n")[0])
        else:
            self.say("pasted text is ignored", warning=True)

    def completions(self, line: str) -> list[str]:
        return commandline.completions(self, line)

    def _answered(self, question: Question, value: str) -> None:
        chooser, column = self._chooser, self._column
        self._leave_prompt()
        try:
            if chooser is not None:
                self.say(chooser.take())
            elif column is not None:
                self._write(column, value)
            elif question == "version":
                self.say(versions.keep(self.session, value))
            elif question == "find":
                self.find(value)
            elif question == "list":
                list_by(self, text=value.strip())
            elif question == "name":
                self.say(keying.name(self.session, value))
            elif question == "note":
                self.session.state("held", value[:4096])
                self._went(self._next())
            else:
                commandline.run(self, value)
        except PoiseError as fault:
            self.say(str(fault), warning=True)
            if question == "command":
                self.whole(value, str(fault))

    def _write(self, place: int, text: str) -> None:
        session, value = self.session, number(text)
        result, column = group.write(session, place, value), session.column(place)
        name, setting = column.name, of_column(column, session.hand)
        there = setting.text(session.slot.decision.correction, session.hand)
        report(self, result, f"{name} is {there} on", f"{name} was already {there}", f"{name} is {there}")

    # What actions ask for (see `actions.Desk` and `commandline.Console`)

    def go(self, index: int) -> None:
        before = self.session.index
        self.session.go(index)
        if self.session.index != before:
            self._early = []  # they were meant for the previous shot
            self._coordinator.arrive(before)

    def onward(self, state: State) -> None:
        session = self.session
        faults = [fault for fault in self._coordinator.delivery.faults(session.index) if not fault.caution]
        name = session.slot.shot.name
        session.state(state)
        more = self._next()
        accepted = f"{name} is balanced with {', '.join(map(brief, faults))}" if state == "balanced" and faults else ""
        self._went("; ".join(part for part in (more, accepted) if part), warning=bool(accepted))

    def frame(self, steps: int) -> None:
        if not self.session.slot.shot.numbers:
            self.say("this shot is a still")
        elif self.session.frame(steps):
            self._coordinator.arrive()
        else:
            self.say("no further frame")

    def play(self) -> None:
        session, slot = self.session, self.session.slot
        last = len(slot.shot.files) - 1
        if not slot.shot.numbers:
            self.say("this shot is a still")
            return
        if slot.frame == last:
            session.frame(-last)
            self._coordinator.arrive(alone=True)
        loaded = self._coordinator.pictures.shown()
        told = loaded.timing.rate if loaded else None
        rate = told or USUAL
        self._coordinator.viewer.stays = True
        self._playing = Playing(session.index, slot.frame, time.monotonic(), rate, slot.frame)
        why = "" if told else ", as the frames tell no rate"
        self.say(f"playing at {float(rate):.6g} frames a second{why}; {self._keys.first('play')} stops")

    def _play_on(self, playing: Playing) -> None:
        """Goes to the frame that is due, unless the one before is still on its way to the screen."""
        slot, last = self.session.slot, len(self.session.slot.shot.files) - 1
        if (self.session.index, slot.frame) != (playing.shot, playing.at) or self.app.screen is not self:
            self._stop()
        elif self._coordinator.shown and not self._drawing:
            due = playing.due(time.monotonic(), last)
            if due > playing.at:
                self._playing = replace(playing, at=due, shown=playing.shown + 1)
                self.session.frame(due - playing.at)
                self._coordinator.touch()
                self._coordinator.arrive(alone=True)
            elif playing.at == last:
                self._stop()

    def _stop(self) -> None:
        """Ends playing, and says what was shown."""
        playing, self._playing = self._playing, None
        assert playing is not None
        self._coordinator.viewer.stays = False
        self._coordinator.arrive()
        frames = playing.at - playing.first + 1
        self.say(f"played {frames} frames, {playing.shown} of them shown")

    def auto(self) -> None:
        self._coordinator.solver.auto()

    def steady(self) -> None:
        self._coordinator.running.steady()

    def match(self, strength: float) -> None:
        self._coordinator.solver.match(strength)

    def chart(self, corners: Corners | None) -> None:
        self._coordinator.solver.chart(corners)

    @property
    def survey(self) -> Survey:
        return self._coordinator.survey

    @property
    def picture(self) -> Loaded:
        loaded = self._coordinator.pictures.current()
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
            self.say("nothing to find again")
            return
        index = self.session.found(self._found)
        if index is None:
            self.say(f"no shot has {self._found!r} in its name", warning=True)
        elif index == self.session.index:
            self.say(f"no other shot has {self._found!r} in its name")
        else:
            self.go(index)

    def instrument(self, view: Instrument | None) -> None:
        self._view = view
        self._rearrange()
        there = [name for name in INSTRUMENTS if name in self.areas(*self.size)]
        if view is None and len(there) == 1 and self.session.hand.mode in ("balance", "pick"):
            choose = " ".join(self._keys.first(f"view.{name}") for name in INSTRUMENTS)
            self.say(f"only one instrument fits; choose with {choose}")

    def page(self) -> int:
        areas = self.areas(*self.size)
        return max(areas["shots"].height - 2, 1) if "shots" in areas else 1

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
        faults = self._coordinator.saves.close()
        if not faults or self._leaving:
            self.app.exit()
            return
        self._leaving = True
        self._coordinator.saves.reopen()
        left = f"{len(faults)} shots are" if len(faults) > 1 else "a shot is"
        self.say(f"{left} not saved: {faults[0]}; quit again to leave, or :sidecars FOLDER", warning=True)

    def close(self) -> None:
        """Saves everything, because the program is about to end."""
        self._coordinator.saves.close()

    def _went(self, said: str, warning: bool = False) -> None:
        if said:
            self.say(said, warning)

    def _next(self) -> str:
        """Goes to the next unfinished shot; returns what is unusual about it."""
        index = self.session.unfinished()
        if index is None:
            self.changed()
            narrow = self.session.listing.wish.narrow
            return "no more shots in the list" if narrow else "every shot is balanced, held or skipped"
        wrapped_around = self.session.listing.is_before(index)
        self.go(index)
        return "wrapped around to the first unfinished shot" if wrapped_around else ""
