"""The cursor on the picture, and picking the grey under it."""

from typing import Literal

from poise_tui.desk import PATCHES
from poise_tui.edits.patch import patch
from poise_tui.measure.loaded import Loaded
from poise_tui.session.session import Session

How = Literal["light", "zone"]

STRIDE = 1 / 96
"""Share of the picture's width that the cursor moves by at step 1: about one cell of a usual terminal."""


def move(session: Session, picture: Loaded, across: int, down: int) -> bool:
    """Moves the cursor by the current step, equally far in all directions and never off the picture."""
    x, y = session.hand.place
    by = STRIDE * session.hand.step
    shape = picture.width / picture.height
    place = min(max(x + across * by, 0.0), 1.0), min(max(y + down * by * shape, 0.0), 1.0)
    moved = place != session.hand.place
    session.hold(place=place)
    return moved


def resize(session: Session, by: int) -> bool:
    """Chooses a smaller or larger patch; returns whether there is one."""
    size = min(max(session.hand.patch + by, 0), len(PATCHES) - 1)
    moved = size != session.hand.patch
    session.hold(patch=size)
    return moved


def pick(session: Session, picture: Loaded, how: How) -> str:
    """Makes the patch under the cursor grey; returns one sentence that says what was done.

    Raises:
        PoiseError: the patch can't be made grey.
    """
    from poise.solve import pick as solved

    slot, hand = session.slot, session.hand
    assert picture.small is not None
    square = patch(picture.small, hand.place, PATCHES[hand.patch])
    found = solved(square, slot.decision.correction, slot.resolved_encoding, picture.depth, how)
    session.correct(found.correction)
    return found.note
