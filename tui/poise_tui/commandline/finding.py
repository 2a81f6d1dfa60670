"""Going to a shot or frame, and what the list shows in which order."""

from poise.errors import PoiseError
from poise_tui.actions.shots import narrow, nothing
from poise_tui.commandline.command import Command, Console
from poise_tui.session.filter import ONLY, ORDERS


def _go(desk: Console, rest: str) -> None:
    if not rest.isdecimal():
        desk.find(rest)
        return
    listed = desk.session.listing.matching
    if not 1 <= int(rest) <= len(listed):
        raise PoiseError(f"there are shots 1 to {len(listed)}" if listed else nothing(desk.session))
    desk.go(listed[int(rest) - 1])


def _list(desk: Console, rest: str) -> None:
    narrow(desk, text=rest)


def _only(desk: Console, rest: str) -> None:
    if rest not in ONLY:
        raise PoiseError(f"list only what? one of {', '.join(ONLY)}")
    narrow(desk, only=rest)


def _order(desk: Console, rest: str) -> None:
    if rest not in ORDERS:
        raise PoiseError(f"an order is by {', '.join(ORDERS)}")
    narrow(desk, order=rest)


def _frame(desk: Console, rest: str) -> None:
    numbers = desk.session.slot.shot.numbers
    if not numbers:
        raise PoiseError("this shot is a still")
    slot = desk.session.slot
    named = {"first": 0, "last": len(numbers) - 1, "judged": slot.judged}
    place = named.get(rest)
    if place is None and rest.isdecimal() and int(rest) in numbers:
        place = numbers.index(int(rest))
    if place is None:
        raise PoiseError(f"there are frames {numbers[0]} to {numbers[-1]}, and first, last and judged")
    desk.frame(place - slot.frame)


FINDING: tuple[Command, ...] = (
    Command("go NUMBER or NAME", "go to a shot", _go),
    Command("list TEXT", "list only names that contain a text; all without one", _list),
    Command("only WHICH", f"list only {', '.join(ONLY[1:])}, or all", _only, lambda desk: ONLY),
    Command("order BY", f"order the list by {', '.join(ORDERS)}", _order, lambda desk: ORDERS),
    Command("frame NUMBER", "go to a frame of a sequence; also first, last, judged", _frame),
)
