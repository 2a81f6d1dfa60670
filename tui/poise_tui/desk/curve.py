"""Columns of the current point of a curve: its input and its output."""

from dataclasses import replace as renewed

import numpy as np
from msgspec.structs import replace

from poise.chain.curve_points import moved
from poise.correction import Correction
from poise.correction import controls as c
from poise.correction.model import Point
from poise.errors import PoiseError
from poise_tui.desk.column import Column, Number
from poise_tui.desk.hand import Hand

Points = tuple[Point, ...]

STEP = 0.005
"""One step, in code value, as for an offset."""


def points_of(correction: Correction, hand: Hand) -> Points:
    """The points of the current channel's curve."""
    points: Points = getattr(correction.curves, hand.channel)
    return points


def with_points(correction: Correction, hand: Hand, points: Points) -> Correction:
    """The correction with other points for the current channel."""
    return replace(correction, curves=replace(correction.curves, **{hand.channel: points}))


def point_at(points: Points, at: float) -> int | None:
    """The index of the point at an input; None if there is none."""
    return next((place for place, (x, _) in enumerate(points) if x == at), None)


def shifted(correction: Correction, hand: Hand, dx: float, dy: float) -> Correction:
    """The correction with the current point moved.

    Raises:
        PoiseError: there is no current point, or it can't move that way.
    """
    points = points_of(correction, hand)
    return with_points(correction, hand, moved(points, _place(points, hand), dx, dy))


def followed(before: Correction, after: Correction, hand: Hand) -> Hand:
    """The hand with its cursor on the point after its move."""
    place = point_at(points_of(before, hand), hand.at)
    return hand if place is None else renewed(hand, at=points_of(after, hand)[place][0])


def _place(points: Points, hand: Hand) -> int:
    place = point_at(points, hand.at)
    if place is None:
        raise PoiseError("no point at the cursor: enter adds one")
    return place


def _input_home(correction: Correction, hand: Hand) -> Correction:
    raise PoiseError("an input has no neutral value; output = input is neutral")


def _output_home(correction: Correction, hand: Hand) -> Correction:
    """Moves the point onto output = input, as far as its neighbours allow."""
    points = points_of(correction, hand)
    x, y = points[_place(points, hand)]
    return shifted(correction, hand, 0, x - y) if x != y else correction


def _output(correction: Correction, hand: Hand) -> float:
    """The output at the cursor."""
    from poise.chain.curves import curve  # not before the first paint: it brings scipy

    points = points_of(correction, hand)
    place = point_at(points, hand.at)
    return points[place][1] if place is not None else float(curve(points)(np.asarray(hand.at)))


def _read_output(correction: Correction, hand: Hand) -> tuple[str, str]:
    there = point_at(points_of(correction, hand), hand.at) is not None
    return f"{_output(correction, hand):.3f}", "point" if there else "no point"


POINT = (
    Column(
        "input",
        False,
        lambda now, hand, steps: shifted(now, hand, STEP * steps, 0),
        _input_home,
        lambda now, hand: (f"{hand.at:.3f}", "code"),
        Number(
            lambda hand: c.Control("", "input", "code", STEP, 0, c.CURVE_LOW, c.CURVE_HIGH),
            lambda now, hand: hand.at,
            lambda now, hand, value: shifted(now, hand, value - hand.at, 0),
        ),
        follow=followed,
    ),
    Column(
        "output",
        False,
        lambda now, hand, steps: shifted(now, hand, 0, STEP * steps),
        _output_home,
        _read_output,
        Number(
            lambda hand: c.Control("", "output", "code", STEP, 0, c.CURVE_LOW, c.CURVE_HIGH),
            _output,
            lambda now, hand, value: shifted(now, hand, 0, value - _output(now, hand)),
        ),
    ),
)
