"""How the desk stands, for the status line; and what stays to be said about the shot in hand."""

from poise_tui.desk import Hand, banks
from poise_tui.desk.matte import matte_of
from poise_tui.draw.panes.status import Status
from poise_tui.edits import group, judged_frame
from poise_tui.session.session import Session
from poise_tui.workers.coordinator import Coordinator
from poise_tui.workers.save_queue import CONFLICT


def status(session: Session, crew: Coordinator, apart: str = "") -> Status:
    """What the status line tells.

    Args:
        apart: how far the shot stands from what it is compared with.
    """
    slot, hand = session.slot, session.hand
    seen = crew.shown()
    waiting = len(session.unsaved)
    faults = [s for i in session.unsaved if (s := session.slots[i]).fault]
    if faults:
        left = faults[0].shot.name if len(faults) == 1 else f"{len(faults)} shots"
        save, safe = f"NOT SAVED: {left}" + ("" if faults[0].conflict else ", trying again"), False
    else:
        save, safe = ("saving" if waiting else "saved" if slot.sidecar else "unchanged"), True
    return Status(
        desk=_desk(hand),
        acts_on=_acts_on(session),
        step=hand.step,
        source=slot.encoding.source,
        delivery=slot.encoding.delivery,
        undo=slot.history.depth,
        redo=slot.history.ahead,
        save=save,
        safe=safe,
        before=_before(session),
        frame=judged_frame.told(slot, seen.file if seen else None),
        state=slot.decision.state,
        marked=len(session.marked),
        group=len(group.members(session)) if group.on(session) else 0,
        apart=apart,
        listed=", ".join(session.listing.wish.words),
        about=_about(session, crew),
    )


def standing(session: Session, crew: Coordinator) -> str:
    """What stays to be said about the shot in hand until it is settled; at the reel, why it stands apart."""
    slot = session.slot
    if slot.conflict:
        return CONFLICT
    if slot.fault:
        do = ":mine sets it aside, :sidecars FOLDER saves elsewhere; " if slot.unsaved else ""
        return f"{do}{slot.shot.sidecar_path.name}: {slot.fault.reason}"
    if slot.gone:
        return "the picture is gone; what was decided stays"
    apart = _apart(session, crew) if session.hand.mode == "reel" else ""
    return apart or (f"note: {slot.decision.note}" if slot.decision.note else "")


def _apart(session: Session, crew: Coordinator) -> str:
    known = crew.survey.known(session.index)
    if known and known.fault:
        return known.fault
    reasons = crew.survey.reel(session.before).reasons(session.index)
    more = f"; and {len(reasons) - 1} more" if len(reasons) > 1 else ""
    return f"apart: {reasons[0]}{more}" if reasons else ""


def _desk(hand: Hand) -> str:
    """The bank under the fingers, and how many there are."""
    turns = banks(hand.mode)
    return turns[hand.bank].name + (f" {hand.bank + 1}/{len(turns)}" if len(turns) > 1 else "")


def _acts_on(session: Session) -> str:
    """What nudges move: a zone, of the matte in hand where there is one, or a curve."""
    hand = session.hand
    if hand.mode == "curve":
        return hand.channel
    if hand.mode != "matte":
        return hand.zone.value
    matte = matte_of(session.slot.decision.correction, hand)
    inside = f" {hand.zone.value}" if banks(hand.mode)[hand.bank].name == "inside" else ""
    return (matte.name if matte else "new matte") + inside


def _before(session: Session) -> str:
    without = {"matte": "WITHOUT THIS MATTE", "curve": "WITHOUT CURVES"}
    return without.get(session.hand.mode, "BEFORE") if session.before else ""


def _about(session: Session, crew: Coordinator) -> str:
    loaded = crew.shown()
    name = loaded.file.name if loaded else session.slot.file.name
    if loaded is None or loaded.small is None:
        return name
    depth = f"{loaded.depth.bits} bit" + (" float" if loaded.depth.is_float else "")
    return f"{name} {loaded.width} x {loaded.height} {depth}"
