"""Edits of the curves of the current shot, with a cursor along the input."""

from dataclasses import replace as renewed

from poise.chain.curve_points import added, removed
from poise.correction.model import STRAIGHT
from poise.errors import PoiseError
from poise.scopes.levels import HIGH, LOW
from poise_tui.desk import Channel
from poise_tui.desk.curve import STEP, followed, point_at, points_of, shifted, with_points
from poise_tui.session.session import Session

STRIDE = 0.01
"""Share of full signal that the cursor moves by at step 1."""


def choose(session: Session, channel: Channel) -> None:
    """Selects a channel's curve.

    Raises:
        PoiseError: the picture is greyscale, which has only the master curve.
    """
    if channel != "master" and session.slot.picture and session.slot.picture.grey:
        raise PoiseError("a greyscale picture has one channel: shape the master curve")
    session.hold(channel=channel)


def slide(session: Session, by: int) -> None:
    """Moves the cursor by the current step; it stops at a point on its way."""
    points, at = points_of(session.slot.decision.correction, session.hand), session.hand.at
    wanted = round(at + by * STRIDE * session.hand.step, 12)
    between = [x for x, _ in points if min(at, wanted) <= x <= max(at, wanted) and x != at]
    wanted = min(between, key=lambda x: abs(x - at)) if between else wanted
    low, high = min(LOW, points[0][0]), max(HIGH, points[-1][0])
    session.hold(at=min(max(wanted, low), high))


def jump(session: Session, by: int) -> None:
    """Moves the cursor to the next or previous point.

    Raises:
        PoiseError: there is none in that direction.
    """
    points, at = points_of(session.slot.decision.correction, session.hand), session.hand.at
    there = [x for x, _ in points if (x > at if by > 0 else x < at)]
    if not there:
        raise PoiseError("no point in that direction")
    session.hold(at=min(there) if by > 0 else max(there))


def bend(session: Session, by: int) -> bool:
    """Raises or lowers the curve at the cursor by the current step, with a new point where there is none.

    Raises:
        PoiseError: the curve would fold back, or has as many points as it may have.
    """
    correction, hand = session.slot.decision.correction, session.hand
    points = points_of(correction, hand)
    if point_at(points, hand.at) is None:
        correction = with_points(correction, hand, added(points, hand.at))
    changed = shifted(correction, hand, 0, by * STEP * hand.step)
    session.hand = followed(correction, changed, hand)
    return session.correct(changed)


def add(session: Session) -> str:
    """Adds a point on the curve at the cursor."""
    correction, hand = session.slot.decision.correction, session.hand
    points = added(points_of(correction, hand), hand.at)
    session.correct(with_points(correction, hand, points))
    return f"{hand.channel} has {len(points)} points"


def put(session: Session, x: float, y: float) -> str:
    """Adds a point at an exact input and output, or moves the one at that input.

    Raises:
        PoiseError: the curve would fold back, or the point is outside the limits.
    """
    if session.hand.mode != "curve":
        raise PoiseError("go to curve mode first")
    y = round(y, 12)
    correction, hand = session.slot.decision.correction, renewed(session.hand, at=round(x, 12))
    points = points_of(correction, hand)
    if point_at(points, hand.at) is None:
        correction = with_points(correction, hand, added(points, hand.at))
    place = point_at(points_of(correction, hand), hand.at)
    assert place is not None
    before = points_of(correction, hand)[place][1]
    correction = shifted(correction, hand, 0, y - before) if y != before else correction
    session.hand = hand
    session.correct(correction)
    reached = points_of(correction, hand)[place][1]
    return f"{hand.channel} goes through {hand.at:g}, {reached:g}" + ("" if reached == y else ", the limit")


def remove(session: Session) -> str:
    """Removes the point at the cursor."""
    correction, hand = session.slot.decision.correction, session.hand
    points = points_of(correction, hand)
    place = point_at(points, hand.at)
    if place is None:
        raise PoiseError("no point at the cursor")
    session.correct(with_points(correction, hand, removed(points, place)))
    return f"{hand.channel} has {len(points) - 1} points"


def reset(session: Session) -> str:
    """Makes the current curve straight."""
    correction, hand = session.slot.decision.correction, session.hand
    moved = session.correct(with_points(correction, hand, STRAIGHT))
    session.hold(at=min(max(hand.at, 0.0), 1.0))
    return f"the curve of {hand.channel} is straight; undo takes it back" if moved else "already straight"
