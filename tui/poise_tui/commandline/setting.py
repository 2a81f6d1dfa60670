"""Exact values of controls, curve points, and names of mattes."""

from poise.correction import CONTROLS, Interval, checked
from poise.correction.controls import COLOURED, MATTE_CONTROLS, OFFSET, POWER, SLOPE
from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console
from poise_tui.desk.column import WHOLE, got, put
from poise_tui.desk.matte import INSIDE, MATTE
from poise_tui.edits import keying, shaping


def _set(desk: Console, rest: str) -> None:
    name, _, text = rest.rpartition(" ")
    session = desk.session
    at_matte = session.hand.mode == "matte"
    controls = (*MATTE_CONTROLS, SLOPE, OFFSET, POWER) if at_matte else CONTROLS
    control = next((c for c in controls if name.strip() in (c.name, c.path, c.path.removeprefix("inside."))), None)
    if control is None:
        raise PoiseError(f"set what? one of {', '.join(c.name for c in controls)}, and a value")
    try:
        value = float(text)
    except ValueError:
        raise PoiseError(f"{text!r} is not a number") from None
    if not control.low <= value <= control.high:
        raise PoiseError(f"{control.name} goes from {control.low:g} to {control.high:g}, not to {value:g}")
    if control in COLOURED and session.slot.picture and session.slot.picture.grey:
        raise PoiseError(f"a greyscale picture takes no {control.name}: it has one channel")
    part = (INSIDE if control.path.startswith("balance.") else MATTE) if at_matte else WHOLE
    correction, hand = session.slot.decision.correction, session.hand
    present = part.get(correction, hand)
    channels = isinstance(got(present, control.path), tuple)
    try:
        changed = put(present, control.path, (value, value, value) if channels else value)
    except ValueError as fault:
        raise PoiseError(str(fault)) from None
    which = control.path.partition(".")[0]
    range_ = getattr(changed, which) if at_matte else None
    if isinstance(range_, Interval) and range_.low > range_.high:
        raise PoiseError(
            f"{which} from {range_.low:g} to {range_.high:g} would select nothing: set the other end first"
        )
    session.correct(checked(part.put(correction, hand, changed)))


def _point(desk: Console, rest: str) -> None:
    try:
        x, y = (float(number) for number in rest.split())
    except ValueError:
        raise PoiseError("a point is two numbers, input and output, such as 0.5 0.55") from None
    desk.say(shaping.put(desk.session, x, y))


def _name(desk: Console, rest: str) -> None:
    desk.say(keying.name(desk.session, rest))


SETTING: tuple[Command, ...] = (
    Command("set CONTROL VALUE", "set a control exactly; in matte mode, one of the current matte", _set),
    Command("point INPUT OUTPUT", "put a point on the current curve, in curve mode", _point),
    Command("name TEXT", "name the current matte, in matte mode", _name),
)
