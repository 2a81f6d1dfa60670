"""The delivery faults of the shot in hand, in full: each with value, limit and source, and what to do."""

from poise.delivery.fault import told
from poise_tui.crew import Crew
from poise_tui.draw.cells import Ink
from poise_tui.screens.text import Line
from poise_tui.session import Session


def in_full(session: Session, crew: Crew) -> list[Line]:
    """The lines that are shown."""
    slot, delivery = session.slot, crew.delivery
    head = f"{slot.shot.name}, by {delivery.limits.name}"
    if slot.decision.state in ("held", "skipped"):
        return [[(head, Ink.TITLE)], [(f"it is {slot.decision.state}, so it is not delivered", Ink.TEXT)]]
    known = "every pixel was read" if crew.viewer.exact else "~ from a sample; poise check reads every pixel"
    lines: list[Line] = [[(head, Ink.TITLE)], [(known, Ink.FAINT)]]
    found = delivery.faults(session.index)
    for fault in found:
        kind = "?" if fault.caution else "!"
        lines += [[(f"{kind} {told(fault)}", Ink.WARNING)], [(fault.words, Ink.TEXT)]]
    return lines if found else [*lines, [("no faults so far", Ink.TEXT)]]
