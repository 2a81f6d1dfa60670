"""Edits of a curve's points: move, add, remove. The result is always a valid curve.

Inputs rise by at least LEAST_GAP from point to point, outputs never fall, and both stay within the limits.
A move stops at a limit or a neighbour; an edit that would change nothing raises an error with the reason.
"""

from bisect import bisect_left
from math import isfinite

from poise.correction.controls import CURVE_HIGH, CURVE_LOW, LEAST_GAP, MOST_POINTS
from poise.correction.model import Point
from poise.errors import PoiseError

Points = tuple[Point, ...]


def moved(points: Points, index: int, dx: float, dy: float) -> Points:
    """The curve with one point moved as far as its neighbours and the limits allow.

    Args:
        points: a valid curve, (input, output) in code value.
        index: the point to move; end points can move too.
        dx, dy: the step in code value.

    Raises:
        PoiseError: there is no such point, or it can't move in this direction.

    Example:
        >>> moved(((0.0, 0.0), (0.5, 0.5), (1.0, 1.0)), 1, 0.1, 2.0)
        ((0.0, 0.0), (0.6, 1.0), (1.0, 1.0))
    """
    x, y = _at(points, index)
    if not (isfinite(dx) and isfinite(dy)):
        raise PoiseError("a point moves by a finite step")
    dx, dy = round(dx, 12), round(dy, 12)
    before = points[index - 1] if index else None
    after = points[index + 1] if index + 1 < len(points) else None
    # its present place is always allowed, even if rounding puts a bound slightly nearer
    left = min(_right_of(before[0]), x) if before else CURVE_LOW
    right = max(-_right_of(-after[0]), x) if after else CURVE_HIGH
    low, high = before[1] if before else CURVE_LOW, after[1] if after else CURVE_HIGH
    to = (_slid(x, dx, left, right), _slid(y, dy, low, high))
    if to == (x, y) and (dx or dy):
        raise PoiseError(_stopped(dx, dy, before, after))
    return (*points[:index], to, *points[index + 1 :])


def added(points: Points, x: float) -> Points:
    """The curve with one more point, placed on the curve itself.

    Args:
        points: a valid curve, (input, output) in code value.
        x: the input of the new point.

    Raises:
        PoiseError: `x` is outside the limits or too near another point, or the curve has MOST_POINTS already.

    Example:
        >>> added(((0.0, 0.0), (1.0, 1.0)), 0.25)
        ((0.0, 0.0), (0.25, 0.25), (1.0, 1.0))
    """
    # imported late: numpy and scipy are slow to load
    import numpy as np

    from poise.chain.curves import curve

    if len(points) >= MOST_POINTS:
        raise PoiseError(f"a curve has at most {MOST_POINTS} points: remove one first")
    if not CURVE_LOW <= x <= CURVE_HIGH:
        raise PoiseError(f"a point of a curve must be between {CURVE_LOW:g} and {CURVE_HIGH:g}")
    x = round(x, 12)
    place = bisect_left([point[0] for point in points], x)
    for there, _ in points[max(place - 1, 0) : place + 1]:
        if abs(there - x) < LEAST_GAP:
            raise PoiseError(f"a point stands at {there:.4g} already: move that one")
    y = round(float(curve(points)(np.asarray(x))), 12)
    low = points[place - 1][1] if place else CURVE_LOW
    high = points[place][1] if place < len(points) else CURVE_HIGH
    return (*points[:place], (x, min(max(y, low), high)), *points[place:])


def removed(points: Points, index: int) -> Points:
    """The curve without one point; without an end point, it continues straight from the neighbour.

    Raises:
        PoiseError: there is no such point, or only two are left.

    Example:
        >>> removed(((0.0, 0.0), (0.5, 0.6), (1.0, 1.0)), 1)
        ((0.0, 0.0), (1.0, 1.0))
    """
    _at(points, index)
    if len(points) <= 2:
        raise PoiseError("a curve needs two points: move one of them instead")
    return (*points[:index], *points[index + 1 :])


def _at(points: Points, index: int) -> Point:
    if not 0 <= index < len(points):
        raise PoiseError(f"no point {index + 1}: the curve has {len(points)}")
    return points[index]


def _right_of(x: float) -> float:
    """The nearest valid input to the right; x + LEAST_GAP may be too near by a rounding error."""
    place = round(x + LEAST_GAP, 12)
    return place if place - x >= LEAST_GAP else round(place + 1e-12, 12)


def _slid(value: float, by: float, low: float, high: float) -> float:
    return min(max(round(value + by, 12), low), high) if by else value


def _stopped(dx: float, dy: float, before: Point | None, after: Point | None) -> str:
    by, axis, named, verb = (dx, 0, "inputs", "fold back") if dx else (dy, 1, "outputs", "fall")
    neighbour = after if by > 0 else before
    if neighbour is None:
        return f"a curve's {named} end at {CURVE_HIGH if by > 0 else CURVE_LOW:g}"
    return f"a curve can't {verb}: the {'next' if by > 0 else 'previous'} point stands at {neighbour[axis]:.4g}"
