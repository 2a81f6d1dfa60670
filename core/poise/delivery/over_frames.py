"""Faults of a sequence over its frames: missing numbers, drift and flicker."""

from collections.abc import Iterable, Sequence

import numpy as np

from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.shots import Shot
from poise.scopes import Course, Drift, Readings, drift
from poise.scopes.course import levels_of
from poise.scopes.words import describe

NAMED = 4
"""Gaps named in a fault, at most."""


def gaps(file: str, shot: Shot) -> list[Fault]:
    """The fault of frame numbers missing within a sequence, if there are any."""
    runs = shot.gaps
    if not runs:
        return []
    missing = sum(last - first + 1 for first, last in runs)
    named = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in runs[:NAMED])
    more = f" and {len(runs) - NAMED} more runs" if len(runs) > NAMED else ""
    words = f"frames are missing from the sequence: {named}{more}; render or copy them again"
    return [Fault(file, "gap", float(missing), 0.0, "frames", "a sequence has every frame", words)]


def faults(file: str, frames: Sequence[tuple[int, Readings]], limits: Limits) -> list[Fault]:
    """The faults of drift and flicker of a sequence, described by `scopes.words`.

    None of them says whether flashing pictures are safe.

    Args:
        frames: frame numbers and readings, in order.
    """
    numbers, levels = [number for number, _ in frames], [levels_of(one) for _, one in frames]
    found = drift(Course(np.array(numbers), np.array(levels))) if frames else None
    if found is None:
        return []
    said = describe(found)
    result: list[Fault] = []
    for name, value, begins in _rows(found):
        words = "; ".join(part for part in said if part.startswith(begins)) or said[0]
        result += limits.check(file, name, value, f"{words}; see its course over the frames (D in the app)")
    return result


def _rows(found: Drift) -> Iterable[tuple[str, float, tuple[str, ...]]]:
    """Each limit with the measured value, and the beginnings of the sentences that describe it."""
    flashing = "caution"
    yield "drift", float(np.abs(found.drift[0]).max()), ("drift", "wander", "colour")
    yield "flicker", found.rms, ("flicker", flashing)
    yield "jumps", float(len(found.jumps)), ("one frame", f"{len(found.jumps)} frames", flashing)
    yield "steps", float(len(found.steps)), ("steps",)
