"""Auto, match and chart: measured in the background, for the current shot or for the group."""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from poise.chain.source import resolve_source
from poise.commands.auto import left_beyond, summary, within_cdl
from poise.commands.chart import no_better
from poise.commands.match import comparable, distributed, line, solved
from poise.correction import Correction, Encoding, default_encoding
from poise.delivery.limits import Limits, load
from poise.errors import PoiseError
from poise.frames import Frame, read
from poise.sidecar.decision import Decision
from poise.stamp import Stamp
from poise_tui.edits import group
from poise_tui.edits.charting import Corners
from poise_tui.measure.one_light import OneLight
from poise_tui.session.auto_outcome import AutoOutcome
from poise_tui.session.auto_outcome import summary as summary_of
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState, StillReading
from poise_tui.workers.loader import Loader
from poise_tui.workers.thread import Answer, Latest

if TYPE_CHECKING:
    from poise.solve import Distribution
    from poise.solve.chart import PatchError
    from poise.solve.illuminant import Illuminant

Say = Callable[[str, bool], None]


@dataclass(frozen=True)
class Task:
    """A shot to solve, with its decision at the time of the request."""

    index: int
    name: str
    file: Path
    decision: Decision

    def encoding(self, frame: Frame) -> Encoding:
        """The encoding of its frame."""
        return resolve_source(self.decision.encoding or default_encoding(frame.linear, frame.tags), self.file.parent)


@dataclass(frozen=True)
class Solved:
    """The correction found for a shot.

    Attributes:
        by_hand: whether the correction counts as made by hand, so that auto leaves it alone.
        notes: messages, in order.
        certainty: the probability that auto found the light; None if it sought none.
        reasons: what auto says of the picture, the light first.
    """

    correction: Correction
    by_hand: bool
    notes: tuple[str, ...]
    certainty: float | None = None
    reasons: tuple[str, ...] = ()


Solve = Callable[[Task, Frame], Solved]


@dataclass(frozen=True)
class Aim:
    """A measured reference: its file, encoding and correction, and the distribution found."""

    file: Path
    stamp: Stamp | None
    encoding: Encoding
    correction: Correction
    found: "Distribution"


class Solver:
    """Solves for one session.

    Args:
        loader: reads whole frames.
        later: hands a call over to the thread that answers keys.
        say: shows one line to the user; the flag marks a warning.
    """

    def __init__(self, session: Session, loader: Loader, later: Callable[..., None], say: Say) -> None:
        self._session, self._loader, self._later, self._say = session, loader, later, say
        self._aim: Aim | None = None
        self._request = 0
        self.limits: Limits = load()
        """What auto says of limits that a starting point leaves."""
        self.patches: Sequence[PatchError] = ()
        self.outcomes: tuple[AutoOutcome, ...] = ()
        """Of the last auto, shot by shot."""
        self._worker: Latest[str, str] = Latest("solve", lambda made: later(self._end, made))

    def auto(self) -> None:
        """Corrects the current shot, or the group under the one light of its shots, by measuring a frame of each."""
        ten, light, limits = self._session.ten, OneLight(), self.limits
        self._start(
            "auto",
            lambda task, frame: _starting_point(task, frame, ten, light.of(task.name), limits),
            lambda decision: decision.corrected_by_hand or _set_aside(decision),
            light,
        )

    def match(self, strength: float = 1.0) -> None:
        """Matches the current shot, or the group, to the reference.

        Raises:
            PoiseError: there is no reference, or the shot is the reference.
        """
        session, reference = self._session, self._session.reference
        if reference is None:
            raise PoiseError("no reference yet: make a shot the reference, or :reference FILE")
        if reference is session.slot:
            raise PoiseError("this shot is the reference")
        comparable(session.slot.encoding, reference.encoding)
        ten = session.ten
        file, encoding, correction = reference.file, reference.resolved_encoding, reference.decision.correction

        def solve(task: Task, frame: Frame) -> Solved:
            own, present = task.encoding(frame), task.decision.correction
            comparable(own, encoding)
            aim = self._aimed(file, Stamp.of(file), encoding, correction)
            result = solved(frame, present, own, aim, strength, ten)
            return Solved(result.correction, task.decision.corrected_by_hand, (f"match: {line(result)}",))

        self._start("match", solve, _set_aside)

    def chart(self, corners: Corners | None) -> None:
        """Balances the current shot by the chart between corners, or by one it finds; keeps the chart's `patches`."""

        def solve(task: Task, frame: Frame) -> Solved:
            from poise.solve import chart, find_chart

            taken = frame.colour, task.encoding(frame), frame.depth, task.decision.correction
            found = find_chart(*taken) if corners is None else chart(taken[0], corners, *taken[1:])
            self.patches = found.patches
            if not found.better:
                same = f"chart: {found.after:.2f} would be {no_better(found)}  (:patches lists each)"
                return Solved(taken[3], task.decision.corrected_by_hand, (same,))
            off = f"CIEDE2000 {found.before:.1f} -> {found.after:.1f} on average, {found.worst.name} worst"
            return Solved(found.correction, True, (f"chart: {found.note}", f"chart: {off}  (:patches lists each)"))

        self._start("chart", solve)

    def end(self) -> None:
        """Stops the thread, without waiting for the present job."""
        self._request += 1
        self._worker.end()

    def _start(
        self,
        what: str,
        solve: Solve,
        kept: Callable[[Decision], bool] | None = None,
        light: OneLight | None = None,
    ) -> None:
        """Solves the current shot, and the group if it is on, except the shots that are `kept` unchanged.

        Args:
            kept: None for what never goes to a group.
            light: found in the whole group before any of its shots is solved; None where they need not share one.
        """
        session, self._request = self._session, self._request + 1
        if not session.slot.loaded:
            raise StillReading("its sidecar is still being read")
        outcomes: list[AutoOutcome] = []
        others = group.members(session) if kept else []
        tasks, left = [self._task(session.index)], 0
        for index in others:
            slot = session.load(index)
            if index == session.index or slot is session.reference:
                continue
            if (kept and kept(slot.decision)) or slot.fault or not slot.loaded:
                left += 1
                outcomes.append(AutoOutcome(slot.shot.name, slot.decision.certainty, (_why_left(slot),), left=True))
            else:
                tasks.append(self._task(index))
        slot = session.slot
        which = f" frame {slot.shot.numbers[slot.frame]}, not the judged one" if slot.frame != slot.judged else ""
        self._say(f"measuring{which} ...", False)
        request = self._request
        if what == "auto":
            self.outcomes = tuple(outcomes)
        self._worker.do(what, lambda what: self._run(request, what, tasks, solve, left, light))

    def _task(self, index: int) -> Task:
        slot = self._session.load(index)
        here = index == self._session.index  # of the current shot, the frame on screen
        return Task(index, slot.shot.name, slot.file if here else slot.shot.files[slot.judged], slot.decision)

    def _run(
        self, request: int, what: str, tasks: Sequence[Task], solve: Solve, left: int, light: OneLight | None
    ) -> str:
        """Solves the tasks in the thread, until another request comes; returns a closing message."""
        if light is not None and len(tasks) > 1:
            for done, task in enumerate(tasks):
                if request != self._request:
                    return f"{what}: stopped after 0 of {len(tasks)} shots by another request"
                with suppress(PoiseError):  # it is reported when the shot is solved
                    frame = self._loader.whole(task.file) if not done else read(task.file)
                    light.measure(task.name, frame, task.encoding(frame))
                self._later(self._say, f"{what}: light of {done + 1} of {len(tasks)}, {task.name}", False)
            for line in light.share():
                self._later(self._say, f"{what}: {line}", False)
        for done, task in enumerate(tasks):
            if request != self._request:
                return f"{what}: stopped after {done} of {len(tasks)} shots by another request"
            try:
                # the loader keeps one whole frame, that of the current shot; another must not replace it
                frame = self._loader.whole(task.file) if not done else read(task.file)
                found: Solved | PoiseError = solve(task, frame)
            except PoiseError as fault:
                found = fault
            place = f"{what}: {done + 1} of {len(tasks)}, {task.name}" if len(tasks) > 1 else ""
            self._later(self._take, task, found, place)
        if len(tasks) == 1 and not left:
            return ""
        shots = "1 shot" if len(tasks) == 1 else f"{len(tasks)} shots"
        return f"{what}: {shots} measured" + (f", {left} unchanged" if left else "")

    def _aimed(self, file: Path, stamp: Stamp | None, encoding: Encoding, correction: Correction) -> "Distribution":
        """The reference's distribution, measured once: a reel of shots is matched to one reference."""
        aim = self._aim
        if aim is None or (aim.file, aim.stamp, aim.encoding, aim.correction) != (file, stamp, encoding, correction):
            aim = Aim(file, stamp, encoding, correction, distributed(read(file), encoding, correction))
            self._aim = aim
        return aim.found

    def _take(self, task: Task, found: Solved | PoiseError, place: str) -> None:
        """Takes the result of one shot.

        Args:
            place: which task of how many; empty if there is only one.
        """
        if isinstance(found, PoiseError):
            self._say(f"{task.name}: {found}" if place else str(found), True)
            self.outcomes += (AutoOutcome(task.name, None, (str(found),), left=True),)
            return
        if self._session.slots[task.index].decision != task.decision:
            self._say(f"{task.name} was changed meanwhile; its measurement was dropped", True)
            return
        by_hand, sure = found.by_hand, found.certainty
        self._session.correct(found.correction, by_hand=by_hand, index=task.index, certainty=sure, ask=False)
        if found.reasons:
            self.outcomes += (AutoOutcome(task.name, found.certainty, found.reasons),)
        for note in (place,) if place else found.notes:
            self._say(note, False)

    def _end(self, made: Answer[str, str]) -> None:
        if made.found:
            more = summary_of(self.outcomes) if made.asked == "auto" else ""
            self._say(f"{made.found}; {more}" if more else str(made.found), isinstance(made.found, Exception))


def _why_left(slot: ShotState) -> str:
    """Why a shot of the group is left as it is."""
    if slot.decision.state != "new" and _set_aside(slot.decision):
        return f"it is {slot.decision.state}"
    if slot.decision.corrected_by_hand:
        return "its correction was made by hand"
    return "its sidecar has a fault" if slot.fault else "its sidecar is still being read"


def _set_aside(decision: Decision) -> bool:
    return decision.state in ("held", "skipped")


def _starting_point(task: Task, frame: Frame, ten: bool, light: "Illuminant | None", limits: Limits) -> Solved:
    from poise.solve import auto

    solution = auto(frame.colour, task.encoding(frame), frame.depth, light)
    if ten:
        solution = within_cdl(solution, frame, task.encoding(frame))
    before, after = task.decision.correction, solution.correction
    gone = before.mattes or before.curves != after.curves
    removed = ("auto: removed the mattes and curves; undo brings them back",) if gone else ()
    notes = (*removed, *(f"auto: {note}" for note in solution.notes))
    left = left_beyond(frame, after, task.encoding(frame), limits)
    said = (*notes, f"auto: {left or summary(after)}  (:messages says why)")
    # the note on the light stands after that on the floor, if there is one
    reasons = sorted((*solution.notes, *([left] if left else [])), key=lambda note: "sure" not in note)
    return Solved(after, False, said, solution.confidence, tuple(reasons))
