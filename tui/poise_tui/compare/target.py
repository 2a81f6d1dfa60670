"""The other: what the shot in hand is compared with on the instruments, under a ghost or across a wipe."""

from dataclasses import dataclass, replace

from poise.correction import Correction
from poise_tui.desk import Wipe
from poise_tui.measure.focus import without
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Slot


@dataclass(frozen=True)
class Other:
    """What a shot is compared with.

    Attributes:
        correction: under which it is looked at.
        name: for titles.
        split: where the wipe stands, a share of the picture's width; None for a ghost.
    """

    slot: Slot
    correction: Correction
    name: str
    split: float | None = None


def other(session: Session) -> Other | None:
    """What the shot in hand is compared with now: across the wipe where there is one, else the reference's ghost."""
    hand = session.hand
    if hand.mode == "balance" and hand.wipe is not None:
        found = across(session, hand.wipe)
        if found is not None:
            return replace(found, split=hand.split)
    return _reference(session) if hand.mode in ("balance", "pick") else None


def across(session: Session, wipe: Wipe) -> Other | None:
    """What a wipe of a kind compares with; None where there is no such thing."""
    if wipe == "before":
        slot = session.slot
        return Other(slot, without(slot.decision.correction, session.hand), "before")
    return _reference(session) if wipe == "reference" else _neighbour(session)


def _reference(session: Session) -> Other | None:
    slot = session.reference
    return None if slot is None or slot is session.slot else _as_it_is(slot)


def _neighbour(session: Session) -> Other | None:
    """The shot before, since a reel is read forwards; the one after the first."""
    if len(session.slots) < 2:
        return None
    reel = session.listing.named
    place = reel.index(session.index)
    index = reel[place - 1 if place else 1]
    session.encoding(index)
    return _as_it_is(session.slots[index])


def _as_it_is(slot: Slot) -> Other:
    """A shot under its present correction."""
    return Other(slot, slot.decision.correction, slot.shot.name)
