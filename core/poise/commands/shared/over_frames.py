"""Readings over the frames of a sequence, for `poise measure --frames`."""

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from poise.commands.shared.output import shown
from poise.commands.shared.shots import Found

if TYPE_CHECKING:
    from poise.scopes import Drift, Readings


class Reading(NamedTuple):
    """One frame of a sequence, and what was read off it."""

    number: int
    file: Path
    depth: str
    readings: "Readings"


def drift_of(found: list[Reading]) -> "Drift | None":
    """What the frames do; None for fewer than two, and where nothing in them can be measured."""
    import numpy as np

    from poise.scopes.course import Course, levels_of
    from poise.scopes.drift import drift

    if not found:
        return None
    return drift(Course(np.array([one.number for one in found]), np.array([levels_of(one.readings) for one in found])))


def entry(found: list[Reading], step: int) -> dict[str, Any]:
    """What `--json` tells beside the shot's own readings."""
    drift = drift_of(found)
    return {
        "every": step,
        "over": [{"frame": one.number, "file": str(one.file), "readings": one.readings.to_json()} for one in found],
        "drift": drift.to_json() if drift else None,
    }


def line(one: Found, found: list[Reading], step: int) -> str:
    """What stands below the table about drift and flicker."""
    from poise.scopes.words import told

    drift = drift_of(found)
    said = "; ".join(told(drift)) if drift else "fewer than two frames, so no drift"
    return f"{shown(one.path)}  {f'one frame in {step}: ' if step > 1 else ''}{said}"
