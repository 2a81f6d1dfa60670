"""The corners of a chart, set one after the other under the cursor."""

from poise_tui.desk.hand import Place
from poise_tui.session.session import Session

Corners = tuple[Place, Place, Place, Place]
WHOLE = 4
WHERE = "the outer corner of a corner patch"


def corner(session: Session) -> Corners | None:
    """Sets the next corner under the cursor; all four once the last is set, which are then begun anew."""
    corners = (*session.hand.corners, session.hand.place)
    if len(corners) < WHOLE:
        session.hold(corners=corners)
        return None
    session.hold(corners=())
    first, second, third, fourth = corners
    return first, second, third, fourth


def back(session: Session) -> str:
    """Takes the last corner back; what there is now."""
    if not session.hand.corners:
        return "no corner of a chart is set"
    session.hold(corners=session.hand.corners[:-1])
    return told(session)


def told(session: Session) -> str:
    """How many corners are set, and what comes next."""
    count = len(session.hand.corners)
    return f"{count} of {WHOLE} corners of the chart; go on round, each {WHERE}"
