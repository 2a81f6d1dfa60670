"""The delivery faults of the current shot, in full: each with value, limit and source, and what to do."""

from poise.delivery.fault import describe
from poise_tui.draw.cells import Ink, Line
from poise_tui.session.session import Session
from poise_tui.workers.coordinator import Coordinator
from poise_tui.workers.delivery import PASSED_OVER


def in_full(session: Session, coordinator: Coordinator) -> list[Line]:
    """The lines of the text screen."""
    slot, delivery = session.slot, coordinator.delivery
    lines: list[Line] = [[(f"{slot.shot.name}, by {delivery.limits.name}", Ink.TITLE)]]
    broken = _broken(session, coordinator)
    if broken:
        return [*lines, [(f"! {broken}", Ink.WARNING)]]
    if slot.decision.state in PASSED_OVER:
        return [*lines, [(f"the shot is {slot.decision.state}, so it is not delivered", Ink.TEXT)]]
    exact = "from every pixel" if coordinator.viewer.exact else "~ from a sample; while you rest every pixel is read"
    lines.append([(exact, Ink.FAINT)])
    found = delivery.faults(session.index)
    for fault in found:
        kind = "?" if fault.caution else "!"
        lines += [[(f"{kind} {describe(fault)}", Ink.WARNING)], [(fault.words, Ink.TEXT)]]
    return lines if found else [*lines, [("no faults so far", Ink.TEXT)]]


def _broken(session: Session, coordinator: Coordinator) -> str:
    """Why the sidecar or the picture can't be read; empty if both can."""
    slot, loaded = session.slot, coordinator.shown()
    if slot.fault:
        return f"{slot.shot.sidecar_path.name}: {slot.fault.reason}"
    if slot.gone:
        return "the picture is gone"
    return (loaded.fault if loaded else None) or ""
