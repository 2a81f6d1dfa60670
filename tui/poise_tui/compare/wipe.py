"""The wipe: from nothing through before, reference and neighbour, and its way across the picture."""

from poise_tui.compare.target import across
from poise_tui.desk import WIPES
from poise_tui.session.session import Session

STRIDE = 1 / 40
"""Of the picture's width, for a step of one."""


def turn(session: Session) -> str:
    """The next kind of wipe for which there is something to compare with, or none after the last; what is shown now."""
    kinds = (None, *WIPES)
    there = kinds.index(session.hand.wipe)
    for wipe in (*kinds[there + 1 :], None):
        found = across(session, wipe) if wipe else None
        if wipe is None or found is not None:
            session.hold(wipe=wipe)
            break
    session.before = False
    return f"left of the wipe {found.name}, right of it this shot" if found else "no wipe"


def move(session: Session, by: int) -> bool:
    """The wipe moved by the step of the hand, to either edge at most; whether it moved."""
    split = min(max(session.hand.split + by * STRIDE * session.hand.step, 0.0), 1.0)
    moved = split != session.hand.split
    session.hold(split=split)
    return moved
