"""The coordinator: starts all background work of a session and takes its results.

Threads read pictures, measure, solve and save; each hands its result over by `later`, so that everything here runs
on the thread that answers keys. `tick` starts what is due without a key.
"""

import time
from collections.abc import Callable, Sequence
from pathlib import Path

from poise.correction import NEUTRAL
from poise.delivery.limits import Limits
from poise.errors import in_words
from poise.stamp import Stamp
from poise_tui.compare.overlay import NOTHING, Overlay, same_sizes
from poise_tui.compare.target import other
from poise_tui.desk.functions import functions
from poise_tui.measure.focus import focus_of, without
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.log_hint import looks_flat
from poise_tui.measure.view import Grids
from poise_tui.session.filter import Figures
from poise_tui.session.folder_changes import FolderChanges
from poise_tui.session.receiver import Receiver
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture
from poise_tui.workers.comparison import Comparison
from poise_tui.workers.delivery import Delivery
from poise_tui.workers.disk import ReadAhead
from poise_tui.workers.file_watcher import FileState, FileWatcher
from poise_tui.workers.folder_watcher import FolderWatcher
from poise_tui.workers.pictures import Pictures
from poise_tui.workers.save_queue import SaveQueue
from poise_tui.workers.sequence import SequenceWorker
from poise_tui.workers.solver import Solver
from poise_tui.workers.survey import Survey
from poise_tui.workers.thread import Answer, Latest
from poise_tui.workers.viewer import ViewAnswer, Viewer, Wanted

REST = 0.4
"""Seconds without a key before the whole proxy is counted."""
EXACT = 0.7
"""Seconds without a key before every pixel of the file is read."""
NEAR = 60
"""Rows above and below the current shot that can be on screen."""

Later = Callable[..., None]
Say = Callable[[str, bool], None]


class Coordinator:
    """Works for one session.

    Args:
        later: hands a call over to the thread that answers keys; can be called from any thread.
        changed: called when there is something new to draw.
        say: shows one line to the user; the flag marks a warning.
        hint: shows one line unless another is on screen, which a key asked for.

    Attributes:
        names: the transfer functions; empty until they are imported.
        pictures: those in memory.
        survey: the measurements of every shot, as far as it was read in spare time.
        delivery: the delivery faults of every shot.
    """

    def __init__(
        self, session: Session, later: Later, changed: Callable[[], None], say: Say, hint: Callable[[str], None]
    ) -> None:
        self.names: tuple[str, ...] = ()
        self._session, self._later, self._changed, self._say, self._hint = session, later, changed, say, hint
        self._touched = time.monotonic()
        self._refined = self._measured = True
        self._ahead = ReadAhead(session)
        self._files = FileWatcher(session)
        self._replaced: tuple[Path, Stamp | None] | None = None
        self._hinted: set[int] = set()
        self.pictures = Pictures(session, lambda loaded: later(self._take_picture, loaded))
        loader = self.pictures.loader
        self.running = SequenceWorker(session, loader, later, changed, say)
        self.viewer = Viewer(loader, lambda result: later(self._take_view, result))
        self.survey = Survey(session, loader, self._take_measured)
        self.delivery = Delivery(session, self.survey)
        self.comparison = Comparison(lambda result: later(self._take_comparison, result))
        self.solver = Solver(session, loader, later, say)
        self._warmer: Latest[None, tuple[str, ...]] = Latest("warm", lambda made: later(self._take_names, made))
        self.saves = SaveQueue(session, lambda: later(self._take_outcomes), say)
        self._folders: FolderWatcher | None = None
        self._receiver = Receiver(session)

    # What the screen asks for

    def touch(self) -> None:
        """Notes a key press: work that waits for rest waits longer."""
        self._touched = time.monotonic()
        self.survey.pause()

    def hold_to(self, limits: Limits) -> None:
        """Sets the delivery limits."""
        self.delivery.limits = self.viewer.limits = self.solver.limits = limits
        self.survey.threshold = limits.threshold

    @property
    def resting(self) -> bool:
        """Whether no key was pressed for `REST` seconds."""
        return time.monotonic() - self._touched >= REST

    @property
    def shown(self) -> bool:
        """Whether the current picture was read and measured, or can't be."""
        return self.pictures.current() is not None and self.viewer.answered

    def warm(self) -> None:
        """Imports colour-science in a thread, so that no list of transfer functions need wait for it."""
        self._warmer.do(None, lambda _: functions())

    def arrive(self, before: int | None = None, alone: bool = False) -> None:
        """Asks for the pictures of a new current shot or frame, and of its neighbours.

        Args:
            before: the previous shot; None for another frame of the same shot.
            alone: leave out the neighbours.
        """
        self.pictures.want(before, alone)
        loaded = self.pictures.current()
        if loaded is not None:
            self._loaded(self._session.index, loaded)
        self._changed()

    def _compare(self, grids: Grids) -> None:
        """Asks for the view of what the current shot is compared with."""
        against = other(self._session)
        loaded = self.pictures.loader.get(against.slot.file) if against else None
        if against is not None and loaded is None:
            self.pictures.want()
        if against is None or loaded is None:
            self.comparison.want(None)
        else:
            self.comparison.want(Wanted(loaded, against.correction, against.slot.resolved_encoding, grids))

    def against(self) -> Overlay:
        """What the current shot is compared with; its view is None until it is made."""
        found = other(self._session)
        if found is None:
            return NOTHING
        view = self.comparison.view if same_sizes(self.comparison.view, self.viewer.view) else None
        return Overlay(found.name, found.split, view, self.comparison.fault, found.this)

    def want(self, grids: Grids) -> None:
        """Asks for the view of the current shot, unless it was asked for already."""
        if self._session.slot.file != self.pictures.asked:  # its codes are read in another way now
            self.pictures.want()
        self._compare(grids)
        self.running.want()
        if self._session.hand.mode == "reel":
            self.survey.renew(self._session.index)
        slot, loaded = self._session.slot, self.pictures.shown()
        if loaded is None or loaded.small is None:
            self.viewer.forget()
            return
        self._survey(self._session.index, loaded)
        session, correction = self._session, self._session.delivered
        shown = without(correction, session.hand) if session.before else correction
        encoding = slot.resolved_under(session.shown)
        wanted = Wanted(loaded, shown, encoding, grids, focus_of(correction, session.hand))
        if wanted != self.viewer.asked:
            self._refined = self._measured = False
            self.viewer.want(wanted)

    def watch(self, paths: Sequence[Path], stills: bool) -> None:
        """Watches folders for new and vanished files."""
        shots = [slot.scanned for slot in self._session.slots]
        self._folders = FolderWatcher(paths, stills, shots, lambda found: self._later(self._take_changes, found))
        self._folders.start()

    def end(self) -> None:
        """Stops every thread."""
        if self._folders is not None:
            self._folders.end()
        loader = self.pictures.loader
        workers = (loader, self.viewer, self.comparison, self.survey, self.running, self.solver, self._warmer)
        for worker in (*workers, self._files, self._ahead):
            worker.end()

    # Results

    def _take_picture(self, loaded: Loaded) -> None:
        for index in self.pictures.near(loaded):
            self._loaded(index, loaded)
        if self.pictures.on_screen(loaded):
            self._changed()

    def _loaded(self, index: int, loaded: Loaded) -> None:
        self._survey(index, loaded)
        if loaded.small is None:
            self._session.set_picture(index, None)
            return
        about = (loaded.width, loaded.height, loaded.linear, loaded.grey, loaded.tags)
        self._session.set_picture(index, Picture(*about))

    def _survey(self, index: int, loaded: Loaded) -> None:
        """Passes a picture on to the survey, if it is the judged frame of its shot."""
        slot = self._session.slots[index]
        if loaded.file == slot.shot.files[slot.judged]:
            self.survey.take(index, loaded)

    def _take_view(self, made: ViewAnswer) -> None:
        if not self.viewer.take(made):
            return
        view = self.viewer.view
        exact = self.viewer.exact
        readings = exact.readings if exact else view.readings if view and not view.rough else None
        if readings is not None:
            index, slot = self._session.index, self._session.slot
            if self.as_decided(made.asked):
                self._session.listing.measured(index, Figures.of(readings), slot.history.present, fine=True)
            untouched = slot.decision.correction == made.asked.correction == NEUTRAL
            flat = untouched and looks_flat(readings, made.asked.encoding)
            if flat and index not in self._hinted:
                self._hinted.add(index)
                self._hint("as flat as log footage; if it is log, name its curve with :source, then :delivery sRGB")
        self._changed()

    def as_decided(self, wanted: Wanted | None) -> bool:
        """Whether a view shows the judged frame of the current shot as it is decided, not before or without a part."""
        slot = self._session.slot
        decided = (slot.shot.files[slot.judged], slot.delivered.correction, slot.resolved_encoding)
        return wanted is not None and decided == (wanted.loaded.file, wanted.correction, wanted.encoding)

    def _take_measured(self, index: int) -> None:
        """Takes a shot that was read or measured in spare time."""
        known = self.survey.known(index)
        if known is not None:
            self._session.set_picture(index, known.sample.picture)
            if known.readings and known.decision:
                self._session.listing.measured(index, Figures.of(known.readings.after), known.decision)
            self.delivery.measured(index)
        if self._session.hand.mode == "reel" or self.resting:
            self._changed()

    def _take_comparison(self, made: ViewAnswer) -> None:
        if self.comparison.take(made):
            self._changed()

    def _take_names(self, made: Answer[None, tuple[str, ...]]) -> None:
        if not isinstance(made.found, Exception):
            self.names = made.found
            self._changed()

    def _take_changes(self, found: FolderChanges | Exception) -> None:
        if isinstance(found, Exception):
            self._say(f"can't look for new shots: {in_words(found)}; trying again", True)
            return
        there = not self._session.slot.gone
        message = self._receiver.take(found)
        if there and self._session.slot.gone:
            message = f"the picture is gone; {message}"
        if found.changed:
            self.survey.renewed()
            self.arrive()
        if message:
            self._say(message, bool(found.gone))

    def _take_outcomes(self) -> None:
        outcomes = self.saves.take()
        if any(outcome.fault for outcome in outcomes) or self.resting:
            self._changed()  # while keys follow each other, "saving" can stay a moment longer

    # Without a key

    def tick(self) -> None:
        """Starts what is due; call it about twenty times a second."""
        now = time.monotonic()
        self.saves.tick()
        self._take_answers()
        if not self._refined and self.resting:
            self._refined = True
            self.viewer.refine()
            self._changed()
        if not self._measured and now - self._touched >= EXACT:
            self._measured = True
            self.viewer.read_exactly()
        for state in self._files.tick():
            self._take_state(state)
        if self._session.together:
            self._ahead.headers()
        wish = self._session.listing.wish
        by_state = wish.only not in ("all", "marked") or wish.order == "certainty"
        if by_state or now - self._touched >= EXACT:
            self._ahead.sidecars()
        settled = self._refined and self._measured and not self.viewer.busy
        self.running.tick()
        free = settled and now - self._touched >= EXACT and not self.running.reading
        self.survey.tick(free, self._session.hand.mode == "reel")
        if self.delivery.tick(self.resting):
            self._changed()

    def _take_answers(self) -> None:
        """Takes the late answers of the disk."""
        session, known, before = self._session, self._session.revision, self._session.slot.loaded
        answered = self._ahead.take()
        if session.slot.loaded and not before:
            self.arrive()
        near = {session.index, *session.listing.around(*range(-NEAR, NEAR + 1))} if answered else set()
        if session.together:
            near |= session.marked  # a nudge may wait for one of them
        if near.intersection(answered) or (session.listing.wish.narrow and session.revision != known):
            self._changed()

    def _take_state(self, state: FileState) -> None:
        slot, loaded = self._session.slot, self.pictures.current()
        now = (state.file, state.picture)
        if loaded is not None and loaded.stamp != state.picture and now != self._replaced:
            self._replaced = now
            self.running.renew(slot.file)
            self.arrive()
            there = state.picture is not None
            self._say("the picture was replaced" if there else "the picture is gone", not there)
        if state.sidecar is None or slot.saving or slot.stamp != state.known:
            return  # nobody else changed it, or it was saved here meanwhile
        slot.stamp = state.sidecar.stamp
        if not slot.unsaved and self._session.took(state.sidecar):
            self._say("somebody else changed the sidecar and it was read again; undo goes back to yours", False)
        else:
            self._changed()
