"""The wipe: what it compares with (nothing, before, reference, neighbour), and its position."""

from poise_tui.compare.target import across
from poise_tui.desk import WIPES
from poise_tui.session.session import Session

STRIDE = 1 / 40
"""Share of the picture's width that the wipe moves by at step 1."""


def cycle(session: Session) -> str:
    """Switches to the next kind of wipe that has something to compare with, or to none after the last; says which."""
    kinds = (None, *WIPES)
    there = kinds.index(session.hand.wipe)
    for wipe in (*kinds[there + 1 :], None):
        found = across(session, wipe) if wipe else None
        if wipe is None or found is not None:
            session.hold(wipe=wipe)
            break
    session.before, session.trial = False, None
    return f"wipe: {found.name} on the left, this shot on the right" if found else "no wipe"


def move(session: Session, by: int) -> bool:
    """Moves the wipe by the current step, as far as the edges; returns whether it moved."""
    split = min(max(session.hand.split + by * STRIDE * session.hand.step, 0.0), 1.0)
    moved = split != session.hand.split
    session.hold(split=split)
    return moved
