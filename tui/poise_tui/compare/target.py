"""What the current shot is compared with on the instruments, as a ghost or across a wipe."""

from dataclasses import dataclass, replace

from poise.correction import Correction
from poise_tui.desk import Wipe
from poise_tui.measure.focus import without
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState


@dataclass(frozen=True)
class Target:
    """What a shot is compared with.

    Attributes:
        correction: that it is shown with.
        name: for titles.
        split: the position of the wipe, as a share of the picture's width; None for a ghost.
        this: the name of the other side.
    """

    slot: ShotState
    correction: Correction
    name: str
    split: float | None = None
    this: str = "this"


def other(session: Session) -> Target | None:
    """What the current shot is compared with: the other side of the wipe if there is one, else the reference."""
    hand = session.hand
    if hand.mode == "balance" and hand.wipe is not None:
        found = across(session, hand.wipe)
        if found is not None:
            return replace(found, split=hand.split)
    return _reference(session) if hand.mode in ("balance", "pick") else None


def across(session: Session, wipe: Wipe) -> Target | None:
    """What a kind of wipe compares with; None if there is nothing."""
    if wipe == "before":
        slot = session.slot
        return Target(slot, without(slot.decision.correction, session.hand), "before")
    if wipe == "version":
        return _version(session)
    return _reference(session) if wipe == "reference" else _neighbour(session)


def _version(session: Session) -> Target | None:
    """The chosen version of the current shot, or its latest; None if it has none."""
    slot, wanted = session.slot, session.hand.versions
    versions = slot.decision.versions
    if not versions:
        return None
    name = wanted[0] if wanted and wanted[0] in versions else max(versions, key=lambda one: versions[one].at)
    two = len(wanted) > 1 and session.trial is not None
    return Target(slot, versions[name].correction, name, this=wanted[1] if two else "this")


def _reference(session: Session) -> Target | None:
    slot = session.reference
    return None if slot is None or slot is session.slot else _as_it_is(slot)


def _neighbour(session: Session) -> Target | None:
    """The previous shot of the reel; for the first shot, the next one."""
    if len(session.slots) < 2:
        return None
    reel = session.listing.named
    place = reel.index(session.index)
    index = reel[place - 1 if place else 1]
    session.encoding(index)
    return _as_it_is(session.slots[index])


def _as_it_is(slot: ShotState) -> Target:
    """A shot with its present correction."""
    return Target(slot, slot.decision.correction, slot.shot.name)
