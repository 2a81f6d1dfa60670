"""The coordinator: all that works in the background for a session, and what it brings back.

Threads read pictures, measure, solve and save; each hands its result over by `later`, so that everything here happens
on the thread that answers keys. `tick` does what is due by itself.
"""

import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from poise.correction import NEUTRAL
from poise.errors import in_words
from poise.stamp import Stamp
from poise_tui.compare.overlay import NOTHING, Overlay, alike
from poise_tui.compare.target import other
from poise_tui.desk.functions import functions
from poise_tui.measure.focus import focus_of, without
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.log_hint import looks_flat
from poise_tui.measure.scrub import Scrubbed
from poise_tui.measure.view import Grids
from poise_tui.session.filter import Figures
from poise_tui.session.folder_changes import FolderChanges
from poise_tui.session.receiver import Receiver
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture
from poise_tui.workers.comparison import Comparison
from poise_tui.workers.delivery import Delivery
from poise_tui.workers.file_watcher import FileState, look
from poise_tui.workers.folder_watcher import FolderWatcher
from poise_tui.workers.loader import Loader
from poise_tui.workers.read_ahead import ReadAhead
from poise_tui.workers.save_queue import SaveQueue
from poise_tui.workers.sequence import SequenceWorker
from poise_tui.workers.solver import Solver
from poise_tui.workers.survey import Survey
from poise_tui.workers.thread import Latest
from poise_tui.workers.viewer import Made, Viewer, Wanted

REST = 0.4
"""Seconds without a key after which the whole proxy is counted."""
EXACT = 0.7
"""Seconds without a key after which every pixel of the file is read."""
WATCH = 1.0
"""Seconds between looks at whether somebody else changed the files in hand."""
NEAR = 60
"""Rows before and behind the shot in hand that may be in sight."""
AHEAD = 2
"""Neighbours that are read before they are asked for, in the direction of travel; one in the other."""

Later = Callable[..., None]
Say = Callable[[str, bool], None]


class Coordinator:
    """Works for one session.

    Args:
        later: hands a call over to the thread that answers keys; it may be called from any thread.
        changed: called when there is something new to draw.
        say: one line to the user, and whether it is a warning.

    Attributes:
        levels: black and white of luma by shot, where they are known.
        names: the transfer functions; empty until they were read.
        survey: how every shot stands, as far as it was read in spare time.
        delivery: what a delivery may not have of it.
    """

    def __init__(self, session: Session, later: Later, changed: Callable[[], None], say: Say) -> None:
        self.levels: dict[int, tuple[float, float]] = {}
        self.names: tuple[str, ...] = ()
        self._session, self._later, self._changed, self._say = session, later, changed, say
        self._touched = time.monotonic()
        self._refined = self._measured = True
        self._travel = 1
        self._ahead = ReadAhead(session)
        self._looker = Latest("watch", lambda seen: later(self._take_seen, seen))
        self._replaced: tuple[Path, Stamp | None] | None = None
        self._watched = 0.0
        self._hinted: set[int] = set()
        self._loader = Loader(lambda loaded: later(self._take_picture, loaded))
        self.running = SequenceWorker(session, self._loader, later, changed)
        self.viewer = Viewer(self._loader, lambda made: later(self._take_view, made))
        self._scrubbed = Scrubbed()
        self.survey = Survey(session, self._loader, self._take_standing)
        self.delivery = Delivery(session, self.survey)
        self.beside = Comparison(lambda made: later(self._take_beside, made))
        self.solver = Solver(session, self._loader, later, say)
        self._warmer = Latest("warm", lambda found: later(self._take_names, found))
        self.keeper = SaveQueue(session, lambda: later(self._take_outcomes), say)
        self._arrivals: FolderWatcher | None = None
        self._receiver = Receiver(session)

    # What the screen asks for

    def touch(self) -> None:
        """A key was pressed: whatever waits for rest waits on."""
        self._touched = time.monotonic()
        self.survey.pause()

    @property
    def resting(self) -> bool:
        """Whether no key was pressed for a moment."""
        return time.monotonic() - self._touched >= REST

    def picture(self) -> Loaded | None:
        """The picture in hand; None while it is read."""
        return self._loader.get(self._session.slot.file)

    def shown(self) -> Loaded | None:
        """What is on screen: the picture in hand, or while a frame is read the last one seen of the same sequence."""
        return self._scrubbed.shown(self._session.slot, self.picture())

    def warm(self) -> None:
        """Imports colour-science, so that the first nudge of warmth need not wait for it."""
        self._warmer.do(functions)

    def arrive(self, before: int | None = None) -> None:
        """At another shot or frame: it is asked for, and so are its neighbours.

        Args:
            before: the shot that was in hand.
        """
        session = self._session
        if before is not None:
            self._travel = 1 if session.listing.is_before(before) else -1
        self._loader.want(self._order())
        loaded = self.picture()
        if loaded is not None:
            self._seen(session.index, loaded)
        self._changed()

    def _order(self) -> list[Path]:
        """Pictures to have at hand, the most urgent first."""
        session, slot, against = self._session, self._session.slot, other(self._session)
        order = [slot.file]
        if against is not None:
            order.append(against.slot.file)
        steps = (step * self._travel for step in (*range(1, AHEAD + 1), -1))
        order += [session.load(index).file for index in session.listing.around(*steps)]
        if slot.shot.numbers:
            order += [slot.shot.files[i] for i in (slot.frame + 1, slot.frame - 1) if 0 <= i < len(slot.shot.files)]
        return order

    def _compare(self, grids: Grids) -> None:
        """Asks for the view of what the shot in hand is compared with."""
        against = other(self._session)
        loaded = self._loader.get(against.slot.file) if against else None
        if against is not None and loaded is None:
            self._loader.want(self._order())
        if against is None or loaded is None:
            self.beside.want(None)
        else:
            self.beside.want(Wanted(loaded, against.correction, against.slot.located, grids))

    def against(self) -> Overlay:
        """What the shot in hand is compared with, as far as it is there."""
        found = other(self._session)
        if found is None:
            return NOTHING
        view = self.beside.view if alike(self.beside.view, self.viewer.view) else None
        return Overlay(found.name, found.split, view, self.beside.fault)

    def want(self, grids: Grids) -> None:
        """Asks for the view of the shot in hand, unless it was asked for already."""
        self._compare(grids)
        self.running.want()
        if self._session.hand.mode == "reel":
            self.survey.renew(self._session.index)
        slot, loaded = self._session.slot, self.shown()
        if loaded is None or loaded.small is None:
            self.viewer.forget()
            return
        self._survey(self._session.index, loaded)
        session, correction = self._session, slot.decision.correction
        shown = without(correction, session.hand) if session.before else correction
        wanted = Wanted(loaded, shown, slot.located, grids, focus_of(correction, session.hand))
        if wanted != self.viewer.asked:
            self._refined = self._measured = False
            self.viewer.want(wanted)

    def watch(self, paths: Sequence[Path], stills: bool) -> None:
        """Watches folders for what comes and goes."""
        shots = [slot.shot for slot in self._session.slots]
        self._arrivals = FolderWatcher(paths, stills, shots, lambda found: self._later(self._take_news, found))
        self._arrivals.start()

    def end(self) -> None:
        """Stops every thread."""
        if self._arrivals is not None:
            self._arrivals.end()
        for worker in (self._loader, self.viewer, self.beside, self.survey, self.running, self.solver, self._warmer):
            worker.end()
        self._looker.end()
        self._ahead.end()

    # What comes back

    def _take_picture(self, loaded: Loaded) -> None:
        for index in self._session.listing.around(*range(-AHEAD, AHEAD + 1)):
            if self._session.slots[index].file == loaded.file:
                self._seen(index, loaded)
        against, hand = other(self._session), self._session.slot
        wanted = (hand.file, against.slot.file if against else None)
        if loaded.file in wanted or self._scrubbed.took(hand, loaded, self.picture()):
            self._changed()

    def _seen(self, index: int, loaded: Loaded) -> None:
        self._survey(index, loaded)
        if loaded.small is None:
            self._session.seen(index, None)
            return
        self._session.seen(index, Picture(loaded.width, loaded.height, loaded.linear, loaded.grey))

    def _survey(self, index: int, loaded: Loaded) -> None:
        """Tells the survey of a picture, if it is the one that its shot is judged on."""
        slot = self._session.slots[index]
        if loaded.file == slot.shot.files[slot.judged]:
            self.survey.take(index, loaded)

    def _take_view(self, made: Made) -> None:
        if not self.viewer.take(made):
            return
        view = self.viewer.view
        exact = self.viewer.exact
        readings = exact.readings if exact else view.readings if made.fine and view else None
        if readings is not None:
            index = self._session.index
            self.levels[index] = (readings.luma.black, readings.luma.white)
            if not self._session.before:
                self._session.listing.measured(index, Figures.of(readings))
            untouched = self._session.slot.decision.correction == made.wanted.correction == NEUTRAL
            flat = untouched and looks_flat(readings, made.wanted.encoding)
            if flat and index not in self._hinted:
                self._hinted.add(index)
                self._say(
                    "as flat as log footage; if it is log, name its curve with :source, then :delivery sRGB", False
                )
        self._changed()

    def _take_standing(self, index: int) -> None:
        """A shot was read or measured in spare time."""
        known = self.survey.known(index)
        if known is not None:
            self._session.seen(index, known.sample.picture)
            if known.standing:
                luma = known.standing.after.luma
                self.levels.setdefault(index, (luma.black, luma.white))
                self._session.listing.measured(index, Figures.of(known.standing.after))
            self.delivery.measured(index)
        if self._session.hand.mode == "reel" or self.resting:
            self._changed()

    def _take_beside(self, made: Made) -> None:
        if self.beside.take(made):
            self._changed()

    def _take_names(self, found: tuple[str, ...] | Exception) -> None:
        if not isinstance(found, Exception):
            self.names = found

    def _take_news(self, found: FolderChanges | Exception) -> None:
        if isinstance(found, Exception):
            self._say(f"can't look for new shots: {in_words(found)}; trying again", True)
            return
        there = not self._session.slot.gone
        said = self._receiver.take(found)
        if there and self._session.slot.gone:
            said = f"the picture is gone; {said}"
        if found.changed:
            self.survey.renewed()
            self.arrive()
        if said:
            self._say(said, bool(found.gone))

    def _take_outcomes(self) -> None:
        outcomes = self.keeper.take()
        if any(outcome.fault for outcome in outcomes) or self.resting:
            self._changed()  # while keys follow each other, "saving" may stand a moment longer

    # What happens by itself

    def tick(self) -> None:
        """Starts what is due; to be called some twenty times a second."""
        now = time.monotonic()
        self.keeper.tick()
        self._take_answers()
        if not self._refined and self.resting:
            self._refined = True
            self.viewer.refine()
            self._changed()
        if not self._measured and now - self._touched >= EXACT:
            self._measured = True
            self.viewer.read_exactly()
        if now - self._watched >= WATCH:
            self._watched = now
            self._watch()
        if self._session.together:
            self._ahead.headers()
        by_state = self._session.listing.wish.only not in ("all", "marked")
        if by_state or now - self._touched >= EXACT:
            self._ahead.sidecars()
        settled = self._refined and self._measured and not self.viewer.busy
        self.running.tick()
        free = settled and now - self._touched >= EXACT and not self.running.reading
        self.survey.tick(free, self._session.hand.mode == "reel")
        if self.delivery.tick(self.resting):
            self._changed()

    def _take_answers(self) -> None:
        """What the disk answered late."""
        session, known, before = self._session, self._session.revision, self._session.slot.loaded
        answered = self._ahead.take()
        if session.slot.loaded and not before:
            self.arrive()
        near = {session.index, *session.listing.around(*range(-NEAR, NEAR + 1))} if answered else set()
        if near.intersection(answered) or (session.listing.wish.narrow and session.revision != known):
            self._changed()

    def _watch(self) -> None:
        """Looks whether somebody else changed the picture or the sidecar in hand."""
        index, slot = self._session.index, self._session.slot
        if slot.loaded and not self._looker.busy:
            self._looker.do(partial(look, index, slot.file, slot.shot, slot.stamp))

    def _take_seen(self, seen: FileState | Exception) -> None:
        slot, loaded = self._session.slot, self.picture()
        if isinstance(seen, Exception) or (seen.index, seen.file) != (self._session.index, slot.file):
            return
        now = (seen.file, seen.picture)
        if loaded is not None and loaded.stamp != seen.picture and now != self._replaced:
            self._replaced = now
            self.running.renew(slot.file)
            self.arrive()
            there = seen.picture is not None
            self._say("the picture was replaced" if there else "the picture is gone", not there)
        if seen.sidecar is None or slot.saving or slot.stamp != seen.known:
            return  # nobody else changed it, or it was saved here meanwhile
        slot.stamp = seen.sidecar.stamp
        if not slot.unsaved and self._session.took(seen.sidecar):
            self._say("somebody else changed the sidecar and it was read again; undo goes back to yours", False)
        else:
            self._changed()
