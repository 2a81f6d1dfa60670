"""The status line, and the standing message about the current shot."""

from poise_tui.desk import Hand, banks, zoned
from poise_tui.desk.matte import matte_of
from poise_tui.draw.panes.status import Status
from poise_tui.edits import group, judged_frame
from poise_tui.session.session import Session
from poise_tui.workers.coordinator import Coordinator
from poise_tui.workers.save_queue import CONFLICT


def status(session: Session, coordinator: Coordinator, difference: str = "") -> Status:
    """The content of the status line.

    Args:
        difference: how far the shot is from what it is compared with.
    """
    slot, hand = session.slot, session.hand
    encoding = session.shown.encoding or slot.default
    loaded = coordinator.pictures.shown()
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
        source=encoding.source,
        delivery=encoding.delivery,
        undo=slot.history.depth,
        redo=slot.history.ahead,
        save=save,
        safe=safe,
        before=switched_off(session),
        frame=judged_frame.label(slot, loaded.file if loaded else None),
        state=slot.decision.state,
        marked=len(session.marked),
        group=len(group.members(session)) if group.on(session) else 0,
        form="as cdl" if session.ten else "",
        difference=difference,
        listed=", ".join(session.listing.wish.words),
        about=_about(session, coordinator),
    )


def status_line(session: Session, coordinator: Coordinator) -> str:
    """A message about the current shot that stays until it is settled; in reel mode, why it is an outlier."""
    slot = session.slot
    if slot.conflict:
        return CONFLICT
    if slot.fault:
        do = ":mine sets it aside, :sidecars FOLDER saves elsewhere; " if slot.unsaved else ""
        return f"{do}{slot.shot.sidecar_path.name}: {slot.fault.reason}"
    if slot.gone:
        return "the picture is gone; its decisions are kept"
    outlier = _outlier(session, coordinator) if session.hand.mode == "reel" else ""
    return outlier or (f"note: {slot.decision.note}" if slot.decision.note else "")


def _outlier(session: Session, coordinator: Coordinator) -> str:
    known = coordinator.survey.known(session.index)
    if known and known.fault:
        return known.fault
    reasons = coordinator.survey.reel(session.before).reasons(session.index)
    more = f"; and {len(reasons) - 1} more" if len(reasons) > 1 else ""
    return f"outlier: {reasons[0]}{more}" if reasons else ""


def _desk(hand: Hand) -> str:
    """The current bank, and how many there are."""
    every = banks(hand.mode)
    return every[hand.bank].name + (f" {hand.bank + 1}/{len(every)}" if len(every) > 1 else "")


def _acts_on(session: Session) -> str:
    """What nudges move: a zone, the current matte, or a curve; empty if the current bank has no zone."""
    hand = session.hand
    if hand.mode == "curve":
        return hand.channel
    zone = hand.zone.value if zoned(hand) else ""
    if hand.mode != "matte":
        return zone
    matte = matte_of(session.slot.decision.correction, hand)
    return f"{matte.name if matte else 'new matte'} {zone}".rstrip()


def switched_off(session: Session) -> str:
    """What the whole screen is shown without, in capitals; empty if it shows the shot as it is decided."""
    if session.trial is not None:
        return "TRIAL"
    without = {"matte": "WITHOUT THIS MATTE", "curve": "WITHOUT CURVES"}
    return without.get(session.hand.mode, "BEFORE") if session.before else ""


def _about(session: Session, coordinator: Coordinator) -> str:
    loaded = coordinator.pictures.shown()
    name = loaded.file.name if loaded else session.slot.file.name
    if loaded is None or loaded.small is None:
        return name
    depth = f"{loaded.depth.bits} bit" + (" float" if loaded.depth.is_float else "")
    timing = loaded.timing
    rate = f" {float(timing.rate):.6g} fps" if timing.rate else ""
    return f"{name} {loaded.width} x {loaded.height} {depth}{rate} {timing.timecode}".rstrip()
