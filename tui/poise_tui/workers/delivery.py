"""Delivery faults, shot by shot, as far as the shots of a session were measured.

A shot's own faults are found as soon as its readings arrive; how it compares with the others is checked once a
second, while keys rest. A nudge is judged by the readings that were taken for it anyway.
"""

import time
from collections import Counter

import numpy as np

from poise.chain.source import resolve_source
from poise.delivery import consistency, outliers
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of_readings
from poise.delivery.limits import Limits, load
from poise.frames import Depth
from poise.scopes import Readings, Reel
from poise.sidecar.decision import Decision
from poise_tui.session.session import Session
from poise_tui.workers.survey import Survey

EVERY = 1.0
"""Seconds between checks of the whole reel; proportionally longer above `MANY` shots."""
MANY = 1000
PASSED_OVER = ("held", "skipped")
"""States of shots that are not delivered."""


class Delivery:
    """The faults of a session's shots.

    Attributes:
        limits: the delivery limits.
    """

    def __init__(self, session: Session, survey: Survey) -> None:
        self.limits: Limits = load()
        self._session, self._survey = session, survey
        self._own: dict[int, tuple[Decision, bool, tuple[Fault, ...]]] = {}
        """By shot: the decision that was judged, whether every pixel was read, and the faults."""
        self._kinds: dict[int, tuple[str, ...]] = {}
        self._counted: Counter[tuple[str, ...]] = Counter()
        self._usual: tuple[str | None, ...] = (None,) * len(consistency.SAME)
        self._reel: Reel | None = None
        self._outliers: frozenset[int] = frozenset()
        self._version, self._looked = -1, 0.0

    def measured(self, index: int) -> None:
        """Takes a shot that was read or measured in spare time."""
        known = self._survey.known(index)
        if known is None or known.decision is None:
            return
        own = self._own.get(index)
        decision = known.decision
        if known.readings is not None and not (own and own[1] and own[0] == decision):
            found = self._judged(index, decision, known.readings.after, known.sample.stored)
            self._own[index] = decision, False, found
        sample, encoding = known.sample, known.encoding(decision)
        words = consistency.descriptions(consistency.Kind(sample.width, sample.height, sample.stored, 0, encoding))
        before = self._kinds.get(index)
        if words != before:
            self._kinds[index] = words
            self._counted[words] += 1
            if before is not None:
                self._counted[before] -= 1
        self._note(index)

    def tick(self, resting: bool) -> bool:
        """Checks the whole reel if that is due; returns whether anything changed."""
        now = time.monotonic()
        pause = EVERY * max(1.0, len(self._session.slots) / MANY)
        if not resting or self._version == self._survey.version or now - self._looked < pause:
            return False
        self._version, self._looked = self._survey.version, now
        limit, known = self.limits["apart"], self._session.revision
        self._reel = self._survey.reel(before=False)
        flags = np.abs(self._reel.scores) > limit.value if limit else np.zeros((0, 1), bool)
        there = frozenset(np.flatnonzero(flags.any(axis=1)).tolist())
        usual = consistency.majority(+self._counted, self.limits)
        if usual != self._usual:
            self._usual, again = usual, set(self._kinds)
        else:
            again = set(there ^ self._outliers)
        self._outliers = there
        for index in again:
            self._note(index)
        return self._session.revision != known

    def current(self, readings: Readings | None, exact: bool, depth: Depth | None) -> tuple[Fault, ...]:
        """The faults of the current shot, by the readings on screen.

        Args:
            readings: of the corrected picture; None until there are any.
            exact: whether every pixel was read.
            depth: of the file; None until it is known.
        """
        index, decision = self._session.index, self._session.slot.decision
        if readings is not None and depth is not None and not self._session.before:
            own = self._own.get(index)
            if own is None or own[0] != decision or exact or not own[1]:
                self._own[index] = decision, exact, self._judged(index, decision, readings, depth)
        return self._note(index)

    def faults(self, index: int) -> tuple[Fault, ...]:
        """The known faults of a shot; none if it is not delivered."""
        slot = self._session.slots[index]
        if slot.decision.state in PASSED_OVER:
            return ()
        found = list(self._own[index][2]) if index in self._own else []
        if index in self._kinds:
            found += consistency.differences(slot.shot.name, self._kinds[index], self._usual, self.limits)
        limit = self.limits["apart"]
        if index in self._outliers and self._reel is not None and limit is not None:
            reasons = self._reel.reasons(index, limit.value)
            score = abs(reasons[0].score) if reasons else 0.0
            why = outliers.describe(reasons) if reasons else ""
            found.append(
                Fault(slot.shot.name, "apart", score, limit.value, limit.unit, limit.source, why, limit.caution)
            )
        return tuple(found)

    def _judged(self, index: int, decision: Decision, after: Readings, depth: Depth) -> tuple[Fault, ...]:
        slot, known, before = self._session.slots[index], self._survey.known(index), None
        encoding = resolve_source(decision.encoding or slot.default, slot.shot.first.parent)
        if known and known.readings and known.decision and known.encoding(known.decision) == encoding:
            before = known.readings.before
        return faults_of_readings(slot.shot.name, before, after, encoding, depth, self.limits)

    def _note(self, index: int) -> tuple[Fault, ...]:
        """The faults of a shot, which are noted for the list as well."""
        slot, found = self._session.slots[index], self.faults(index)
        beyond = any(not fault.caution for fault in found)
        if beyond != slot.beyond:
            slot.beyond = beyond
            self._session.revision += 1
        return found
