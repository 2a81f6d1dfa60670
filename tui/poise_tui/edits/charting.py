"""The corners of a chart, set one by one at the cursor."""

from poise_tui.desk.hand import Place
from poise_tui.session.session import Session

Corners = tuple[Place, Place, Place, Place]
WHOLE = 4
WHERE = "the outer corner of a corner patch"


def corner(session: Session) -> Corners | None:
    """Sets the next corner at the cursor; returns all four once the last is set, and clears them."""
    corners = (*session.hand.corners, session.hand.place)
    if len(corners) < WHOLE:
        session.hold(corners=corners)
        return None
    session.hold(corners=())
    first, second, third, fourth = corners
    return first, second, third, fourth


def back(session: Session) -> str:
    """Removes the last corner; says how many are set."""
    if not session.hand.corners:
        return "no chart corner is set"
    session.hold(corners=session.hand.corners[:-1])
    return progress(session)


def progress(session: Session) -> str:
    """How many corners are set, and where the next one belongs."""
    count = len(session.hand.corners)
    return f"{count} of {WHOLE} chart corners set; continue around the chart, each at {WHERE}"
