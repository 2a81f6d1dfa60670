"""A sequence over its frames: numbers that are missing, and drift and flicker as something to look at."""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.shots import Shot
from poise.scopes import Course, Drift, Readings, drift
from poise.scopes.course import levels_of
from poise.scopes.words import told

NAMED = 4
"""Gaps that are named at most."""


def gaps(file: str, shot: Shot) -> list[Fault]:
    """Frame numbers that are missing inside a sequence."""
    runs = shot.gaps
    if not runs:
        return []
    missing = sum(last - first + 1 for first, last in runs)
    named = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in runs[:NAMED])
    more = f" and {len(runs) - NAMED} more runs" if len(runs) > NAMED else ""
    words = f"frames are missing from the sequence: {named}{more}; render or copy them again"
    return [Fault(file, "gap", float(missing), 0.0, "frames", "a sequence has every frame", words)]


def faults(file: str, frames: Sequence[tuple[int, Readings]], limits: Limits) -> list[Fault]:
    """What the levels of a sequence do over its frames, each with the words of `scopes.words`.

    Nothing of it tells whether flashing pictures are safe.

    Args:
        frames: the number of each and its readings, in order.
    """
    numbers, levels = [number for number, _ in frames], [levels_of(one) for _, one in frames]
    found = drift(Course(np.array(numbers), np.array(levels))) if frames else None
    if found is None:
        return []
    said = told(found)
    result = []
    for name, value, begins in _rows(found):
        limit = limits[name]
        if limit is not None and math.isfinite(value) and value > limit.value:
            words = "; ".join(part for part in said if part.startswith(begins))
            words = f"{words or said[0]}; look at its run (D in the app)"
            result.append(Fault(file, name, value, limit.value, limit.unit, limit.source, words, limit.caution))
    return result


def _rows(found: Drift) -> Iterable[tuple[str, float, tuple[str, ...]]]:
    """Each limit, the value that it is about, and how the sentences begin that tell it."""
    flashing = "caution"
    yield "drift", float(np.abs(found.drift[0]).max()), ("drift", "wander", "colour")
    yield "flicker", found.rms, ("flicker", flashing)
    yield "jumps", float(len(found.jumps)), ("one frame", f"{len(found.jumps)} frames", flashing)
    yield "steps", float(len(found.steps)), ("steps",)
