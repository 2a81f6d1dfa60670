"""Solving: starting points and matches, measured in the background, for the shot in hand or for those of a group."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from poise.chain.source import located
from poise.commands.auto import summary
from poise.commands.match import comparable, distributed, line
from poise.correction import Correction, Encoding, default_encoding
from poise.errors import PoiseError
from poise.frames import Frame, read
from poise.sidecar.decision import Decision
from poise.stamp import Stamp
from poise_tui.edits import group
from poise_tui.edits.charting import Corners
from poise_tui.session.session import Session
from poise_tui.session.shot_state import StillReading
from poise_tui.workers.loader import Loader
from poise_tui.workers.thread import Latest

if TYPE_CHECKING:
    from poise.solve import Distribution
    from poise.solve.chart import PatchError

Say = Callable[[str, bool], None]


@dataclass(frozen=True)
class Task:
    """A shot to solve, as it stood when it was asked for."""

    index: int
    name: str
    file: Path
    decision: Decision

    def encoding(self, frame: Frame) -> Encoding:
        """The encoding that its frame is taken in."""
        return located(self.decision.encoding or default_encoding(frame.linear), self.file.parent)


@dataclass(frozen=True)
class Solved:
    """What was found for a shot.

    Attributes:
        hand: whether the correction counts as made by a person, whom no starting point may overrule unasked.
        notes: what is to be said, the last one last.
    """

    correction: Correction
    hand: bool
    notes: tuple[str, ...]


Solve = Callable[[Task, Frame], Solved]


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
        self._session, self._loader, self._later, self._say = session, loader, later, say
        self._aim: Aim | None = None
        self._turn = 0
        self.patches: Sequence[PatchError] = ()
        self._worker = Latest("solve", lambda told: later(self._end, told))

    def auto(self) -> None:
        """Measures starting points, from every pixel of a frame."""
        self._start("auto", _starting_point, lambda decision: decision.by_hand or _set_aside(decision))

    def match(self, strength: float = 1.0) -> None:
        """Measures what brings shots to the reference.

        Raises:
            PoiseError: there is no reference, or the shot is it.
        """
        session, reference = self._session, self._session.reference
        if reference is None:
            raise PoiseError("no reference yet: make a shot the reference, or :reference FILE")
        if reference is session.slot:
            raise PoiseError("this shot is the reference")
        comparable(session.slot.encoding, reference.encoding)
        file, encoding, correction = reference.file, reference.located, reference.decision.correction

        def solve(task: Task, frame: Frame) -> Solved:
            from poise.solve import match

            own, present = task.encoding(frame), task.decision.correction
            comparable(own, encoding)
            aim = self._aimed(file, Stamp.of(file), encoding, correction)
            result = match(frame.colour, present, own, frame.depth, aim, strength)
            return Solved(result.correction, task.decision.by_hand, (f"match: {line(result)}",))

        self._start("match", solve, _set_aside)

    def chart(self, corners: Corners | None) -> None:
        """Balances the shot in hand by a chart, between corners or wherever one is found, and keeps its `patches`."""

        def solve(task: Task, frame: Frame) -> Solved:
            from poise.solve import chart, find_chart

            taken = frame.colour, task.encoding(frame), frame.depth, task.decision.correction
            found = find_chart(*taken) if corners is None else chart(taken[0], corners, *taken[1:])
            self.patches = found.patches
            off = f"CIEDE2000 {found.before:.1f} -> {found.after:.1f} on average, {found.worst.name} worst"
            return Solved(found.correction, True, (f"chart: {found.note}", f"chart: {off}  (:patches lists each)"))

        self._start("chart", solve)

    def end(self) -> None:
        """Stops the thread; what it is at is not waited for."""
        self._turn += 1
        self._worker.end()

    def _start(self, what: str, solve: Solve, kept: Callable[[Decision], bool] | None = None) -> None:
        """Solves the shot in hand, and where the group goes together those of it that are not kept as they are.

        Args:
            kept: None for what never goes to a group.
        """
        session, self._turn = self._session, self._turn + 1
        if not session.slot.loaded:
            raise StillReading("its sidecar is still being read")
        others = group.members(session) if kept and group.on(session) else []
        tasks, left = [self._task(session.index)], 0
        for index in others:
            slot = session.load(index)
            if index == session.index or slot is session.reference:
                continue
            if (kept and kept(slot.decision)) or slot.fault or not slot.loaded:
                left += 1
            else:
                tasks.append(self._task(index))
        slot = session.slot
        which = f" frame {slot.shot.numbers[slot.frame]}, not the judged one" if slot.frame != slot.judged else ""
        self._say(f"measuring{which} ...", False)
        turn = self._turn
        self._worker.do(lambda: self._run(turn, what, tasks, solve, left))

    def _task(self, index: int) -> Task:
        slot = self._session.load(index)
        here = index == self._session.index  # what is on screen is what is meant
        return Task(index, slot.shot.name, slot.file if here else slot.shot.files[slot.judged], slot.decision)

    def _run(self, turn: int, what: str, tasks: Sequence[Task], solve: Solve, left: int) -> str:
        """In the thread: one shot after the other, until something else is asked for. What there is to say at last."""
        for done, task in enumerate(tasks):
            if turn != self._turn:
                return f"{what}: stopped after {done} of {len(tasks)} shots by another request"
            try:
                # the frame in hand is kept for its readings; another must not take its place
                frame = self._loader.whole(task.file) if not done else read(task.file)
                found: Solved | PoiseError = solve(task, frame)
            except PoiseError as fault:
                found = fault
            place = f"{what}: {done + 1} of {len(tasks)}, {task.name}" if len(tasks) > 1 else ""
            self._later(self._take, task, found, place)
        if len(tasks) == 1 and not left:
            return ""
        shots = "1 shot" if len(tasks) == 1 else f"{len(tasks)} shots"
        return f"{what}: {shots} measured" + (f"; {left} left unchanged" if left else "")

    def _aimed(self, file: Path, stamp: Stamp | None, encoding: Encoding, correction: Correction) -> "Distribution":
        """The reference's distribution, measured once: a reel of shots is matched to one reference."""
        aim = self._aim
        if aim is None or (aim.file, aim.stamp, aim.encoding, aim.correction) != (file, stamp, encoding, correction):
            aim = Aim(file, stamp, encoding, correction, distributed(read(file), encoding, correction))
            self._aim = aim
        return aim.found

    def _take(self, task: Task, found: Solved | PoiseError, place: str) -> None:
        """One shot is done.

        Args:
            place: which of how many; empty where there is one.
        """
        if isinstance(found, PoiseError):
            self._say(f"{task.name}: {found}" if place else str(found), True)
            return
        if self._session.slots[task.index].decision != task.decision:
            self._say(f"{task.name} was changed meanwhile; its measurement was dropped", True)
            return
        self._session.correct(found.correction, hand=found.hand, index=task.index)
        for note in (place,) if place else found.notes:
            self._say(note, False)

    def _end(self, told: str | Exception) -> None:
        if told:
            self._say(str(told), isinstance(told, Exception))


def _set_aside(decision: Decision) -> bool:
    return decision.state in ("held", "skipped")


def _starting_point(task: Task, frame: Frame) -> Solved:
    from poise.solve import auto

    solution = auto(frame.colour, task.encoding(frame), frame.depth)
    before, after = task.decision.correction, solution.correction
    gone = before.mattes or before.curves != after.curves
    removed = ("auto: removed the mattes and curves; undo brings them back",) if gone else ()
    notes = (*removed, *(f"auto: {note}" for note in solution.notes))
    return Solved(after, False, (*notes, f"auto: {summary(after)}  (:messages says why)"))
