"""Readings over the frames of a sequence, for `poise measure --frames`."""

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from poise.commands.shared.output import shown
from poise.commands.shared.shots import Found

if TYPE_CHECKING:
    from poise.scopes import Drift, Readings


class Reading(NamedTuple):
    """The readings of one frame of a sequence."""

    number: int
    file: Path
    depth: str
    readings: "Readings"


def drift_of(found: list[Reading]) -> "Drift | None":
    """Drift and flicker of frames; None for fewer than two frames, or if nothing in them can be measured."""
    import numpy as np

    from poise.scopes.course import Course, levels_of
    from poise.scopes.drift import drift

    if not found:
        return None
    return drift(Course(np.array([one.number for one in found]), np.array([levels_of(one.readings) for one in found])))


def entry(found: list[Reading], step: int) -> dict[str, Any]:
    """The additional entries of `measure --json` for a sequence."""
    drift = drift_of(found)
    return {
        "every": step,
        "over": [{"frame": one.number, "file": str(one.file), "readings": one.readings.to_json()} for one in found],
        "drift": drift.to_json() if drift else None,
    }


def line(one: Found, found: list[Reading], step: int) -> str:
    """The line about drift and flicker below the table."""
    from poise.scopes.words import describe

    drift = drift_of(found)
    said = "; ".join(describe(drift)) if drift else "fewer than two frames: no drift to measure"
    return f"{shown(one.path)}  {f'one frame in {step}: ' if step > 1 else ''}{said}"
