"""Delivery faults, shot by shot, as far as the shots of a session were measured, by the rule of `poise check`.

A shot's own faults are found as soon as its readings arrive; how it compares with the others is checked once a
second, while keys rest. A nudge is judged by the readings that were taken for it anyway, and once keys rest the
current shot is examined pixel by pixel, as `poise check` does it.
"""

import time
from collections import Counter
from dataclasses import dataclass

from poise.delivery import consistency, outliers
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of, faults_of_readings
from poise.delivery.limits import Limits, load
from poise.frames import Depth
from poise.scopes import Reel
from poise.sidecar.decision import Decision
from poise_tui.measure.view import View
from poise_tui.session.session import Session
from poise_tui.workers.survey import Survey
from poise_tui.workers.viewer import Exact

EVERY = 1.0
"""Seconds between checks of the whole reel; proportionally longer above `MANY` shots."""
MANY = 1000
ENOUGH = 200
"""Shots, or all, that must have been measured before any is called an outlier."""


@dataclass(frozen=True)
class Judged:
    """The faults of a shot by itself.

    Attributes:
        decision: the one that was judged.
        exact: whether every pixel was read.
    """

    decision: Decision
    exact: bool
    faults: tuple[Fault, ...]


class Delivery:
    """The faults of a session's shots.

    Attributes:
        limits: the delivery limits.
    """

    def __init__(self, session: Session, survey: Survey) -> None:
        self.limits: Limits = load()
        self._session, self._survey = session, survey
        self._own: dict[int, Judged] = {}
        self._kinds: dict[int, tuple[str, ...]] = {}
        self._usual: tuple[str | None, ...] = (None,) * len(consistency.SAME)
        self._reel: Reel | None = None
        self._outliers: frozenset[int] = frozenset()
        self._looked_at: tuple[int, int] = (-1, -1)
        self._looked = 0.0

    def measured(self, index: int) -> None:
        """Takes a shot that was read or measured in spare time."""
        known = self._survey.known(index)
        if known is None or known.decision is None:
            return
        own, decision, sample = self._own.get(index), known.decision, known.sample
        if known.readings is not None and not (own and own.exact and own.decision.corrects_as(decision)):
            name, encoding = self._session.slots[index].shot.name, known.encoding(decision)
            found = faults_of_readings(name, known.readings.after, known.loss, encoding, sample.stored, self.limits)
            self._own[index] = Judged(decision, False, found)
        kind = consistency.Kind(sample.width, sample.height, sample.stored, 0, known.encoding(decision))
        self._kinds[index] = consistency.descriptions(kind)
        self._note(index)

    def tick(self, resting: bool) -> bool:
        """Checks the whole reel if that is due; returns whether anything changed."""
        now, session = time.monotonic(), self._session
        pause = EVERY * max(1.0, len(session.slots) / MANY)
        looked_at = (self._survey.version, session.revision)
        if not resting or self._looked_at == looked_at or now - self._looked < pause:
            return False
        if self._survey.measured >= min(len(session.slots), ENOUGH):  # a few shots say little of the reel
            self._reel = self._survey.reel(before=False)
            self._outliers = frozenset(self._reel.outliers.nonzero()[0].tolist())
        counted = Counter(words for i, words in self._kinds.items() if session.slots[i].decision.delivered)
        self._usual = consistency.majority(counted, self.limits)
        for index in range(len(session.slots)):
            self._note(index)
        self._looked_at, self._looked = (self._survey.version, session.revision), now
        return session.revision != looked_at[1]

    def current(self, view: View | None, exact: Exact | None, depth: Depth | None) -> tuple[Fault, ...]:
        """The faults of the current shot as it is on screen, the worst first.

        Args:
            view: of the judged frame as it is decided; None until there is one.
            exact: measurements of every pixel of the same.
            depth: of the file; None until it is known.
        """
        session = self._session
        index, slot = session.index, session.slot
        own, decision, name = self._own.get(index), slot.decision, slot.shot.name
        known = own is not None and own.exact and own.decision.corrects_as(decision)
        if exact is not None and not known:
            self._own[index] = Judged(decision, True, faults_of(name, exact.examined, self.limits))
        elif view is not None and depth is not None and not known:
            encoding = slot.resolved_encoding
            found = faults_of_readings(name, view.readings, view.loss, encoding, depth, self.limits)
            self._own[index] = Judged(decision, False, found)
        self._note(index)
        return self.faults(index)

    def faults(self, index: int) -> tuple[Fault, ...]:
        """The known faults of a shot that a correction can mend, the worst first.

        A held shot shows its own while it is worked on; a skipped shot has none.
        """
        session, own = self._session, self._own.get(index)
        slot = session.slots[index]
        if slot.decision.state == "skipped" or not (slot.decision.delivered or index == session.index):
            return ()
        found = [fault for fault in own.faults if not fault.of_format] if own else []
        limit, reel = self.limits["apart"], self._reel
        if limit is not None and reel is not None and index in self._outliers and slot.decision.delivered:
            reasons = reel.reasons(index)
            score, why = abs(reasons[0].score), outliers.describe(reasons)
            found.append(
                Fault(slot.shot.name, "apart", score, limit.value, limit.unit, limit.source, why, limit.caution)
            )
        return tuple(sorted(found, key=lambda fault: (fault.caution, -fault.beyond)))

    def of_format(self) -> list[Fault]:
        """The faults of the format of all shots that are delivered, in order of name."""
        session, found = self._session, []
        for index in session.listing.named:
            slot, own = session.slots[index], self._own.get(index)
            if not slot.decision.delivered:
                continue
            found += [fault for fault in own.faults if fault.of_format] if own else []
            if index in self._kinds:
                words = self._kinds[index]
                found += consistency.differences(slot.shot.name, words, self._usual, self.limits)
        return found

    def _note(self, index: int) -> None:
        """Notes for the list whether a shot has faults."""
        slot = self._session.slots[index]
        beyond = slot.decision.delivered and any(not fault.caution for fault in self.faults(index))
        if beyond != slot.beyond:
            slot.beyond = beyond
            self._session.revision += 1
