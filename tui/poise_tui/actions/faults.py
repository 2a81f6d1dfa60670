"""Actions that go to shots with delivery faults, the worst first."""

from collections.abc import Callable

from poise.delivery.fault import Fault, brief
from poise_tui.actions.registry import Action, Desk
from poise_tui.desk import Mode

_BALANCE: tuple[Mode, ...] = ("balance",)


def _ranked(desk: Desk) -> list[tuple[int, Fault]]:
    """The listed shots with faults and the worst of each, the farthest beyond its limit first."""
    found = []
    for index in desk.session.listing.matching:
        faults = [fault for fault in desk.faults_of(index) if not fault.caution]
        if faults:
            found.append((index, faults[0]))
    return sorted(found, key=lambda one: -one[1].beyond)


def _to(by: int) -> Callable[[Desk], None]:
    """An action that goes to the worst fault, or for +1 or -1 to the next or the one before in their order."""

    def run(desk: Desk) -> None:
        ranked = _ranked(desk)
        at = next((place for place, (index, _) in enumerate(ranked) if index == desk.session.index), None)
        place = at + by if by and at is not None else 0
        if not ranked:
            desk.say("no listed shot has a fault")
        elif not 0 <= place < len(ranked):
            desk.say("that is the least of the faults" if by > 0 else "that is the worst fault")
        else:
            index, fault = ranked[place]
            desk.go(index)
            desk.say(f"fault {place + 1} of {len(ranked)}: {brief(fault)}")

    return run


FAULTS: tuple[Action, ...] = (
    Action("fault.worst", "shots", "the listed shot with the worst delivery fault", _to(0)),
    Action("fault.next", "shots", "the shot with the next worse fault", _to(+1), _BALANCE),
    Action("fault.previous", "shots", "the shot with the fault before it", _to(-1), _BALANCE),
)
