"""The delivery faults of the current shot in full, and those of the format of all shots, with what to do about them."""

from collections.abc import Sequence

from poise.commands.checking.grouping import advice, grouped, heading
from poise.commands.shared.output import some
from poise.delivery.fault import Fault, describe
from poise_tui.draw.cells import Ink, Line
from poise_tui.draw.panes.figures import SAMPLED
from poise_tui.session.session import Session
from poise_tui.workers.coordinator import Coordinator


def in_full(session: Session, coordinator: Coordinator) -> list[Line]:
    """The lines of the text screen."""
    slot, delivery = session.slot, coordinator.delivery
    lines: list[Line] = [[(f"{slot.shot.name}, by {delivery.limits.name}", Ink.TITLE)]]
    broken, state = _broken(session, coordinator), slot.decision.state
    if broken:
        lines.append([(f"! {broken}", Ink.WARNING)])
    elif state == "skipped":
        lines.append([("the shot is skipped, so it is not delivered", Ink.TEXT)])
    else:
        sampled = "~ from a sample; while you rest every pixel is read"
        lines += [[("the shot is held; this is what apply would deliver", Ink.TEXT)]] * (state == "held")
        lines.append([("from every pixel" if coordinator.viewer.exact else sampled, Ink.FAINT)])
        found = delivery.faults(session.index)
        for fault in found:
            kind = "?" if fault.caution else "!"
            lines += [[(f"{kind} {describe(fault)}", Ink.WARNING)], [(fault.words, Ink.TEXT)]]
            if fault.fault in SAMPLED:
                lines.append([("~ from samples of all shots; poise check compares every pixel", Ink.FAINT)])
        lines += [] if found else [[("no faults so far", Ink.TEXT)]]
    return [*lines, *_of_format(delivery.of_format())]


def _of_format(faults: Sequence[Fault]) -> list[Line]:
    """Faults of the format, each once for all shots of the session that share it."""
    lines: list[Line] = []
    for group in grouped(faults)[1]:
        names = some([fault.file for fault in group])
        lines += [[], [(heading(group), Ink.WARNING)], [(names, Ink.TEXT)], [(advice(group), Ink.TEXT)]]
    return lines


def _broken(session: Session, coordinator: Coordinator) -> str:
    """Why the sidecar or the picture can't be read; empty if both can."""
    slot, loaded = session.slot, coordinator.pictures.shown()
    if slot.fault:
        return f"{slot.shot.sidecar_path.name}: {slot.fault.reason}"
    if slot.gone:
        return "the picture is gone"
    return (loaded.fault if loaded else None) or ""
