"""Everything that can be set to exact numbers in a mode: the columns of the desk, and controls by their own names."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from poise.correction import CONTROLS, Control, Correction, checked
from poise.correction.controls import COLOURED, MATTE_CONTROLS, OFFSET, POWER, SLOPE
from poise.errors import PoiseError
from poise_tui.desk import BANKS, balance
from poise_tui.desk.column import WHOLE, Column, Lens, got, put
from poise_tui.desk.hand import Hand, Mode
from poise_tui.desk.matte import INSIDE, MATTE

PRIMARIES = ("red", "green", "blue")
Values = tuple[float, ...]


@dataclass(frozen=True)
class Setting:
    """What a name stands for.

    Attributes:
        name: as on the desk, or of the control.
        path: another name, in the words of the sidecar; empty if there is none.
        coloured: whether it treats channels differently.
        control: its unit and limits.
        read: returns its number, or three for red, green and blue.
        write: returns the correction with as many others.
        channel: whether it is one channel of a control.
    """

    name: str
    path: str
    coloured: bool
    control: Control
    read: Callable[[Correction, Hand], Values]
    write: Callable[[Correction, Hand, Values], Correction]
    channel: bool = False

    def written(self, correction: Correction, hand: Hand, values: Sequence[float]) -> Correction:
        """The correction with other numbers; one number stands for all three channels.

        Raises:
            PoiseError: too few or too many numbers, or one that the model does not allow.
        """
        count, control = len(self.read(correction, hand)), self.control
        if len(values) not in (1, count):
            takes = "one number, or three: red, green, blue" if count == 3 else "one number"
            raise PoiseError(f"{self.name} takes {takes}")
        for value in values:
            if not control.low <= value <= control.high:
                raise PoiseError(f"{self.name} goes from {control.low:g} to {control.high:g}, not to {value:g}")
        try:
            return checked(self.write(correction, hand, tuple(values) * (count if len(values) == 1 else 1)))
        except ValueError as fault:
            raise PoiseError(str(fault)) from None

    def text(self, correction: Correction, hand: Hand) -> str:
        """Its numbers as they can be typed."""
        return " ".join(f"{value:.6g}" for value in self.read(correction, hand))


def number(text: str) -> float:
    """A typed number.

    Raises:
        PoiseError: it is none.
    """
    try:
        return float(text)
    except ValueError:
        raise PoiseError(f"{text!r} is not a number") from None


def of_column(column: Column, hand: Hand) -> Setting:
    """The number of a column."""
    number = column.number
    return Setting(
        column.name,
        "",
        column.coloured,
        number.control(hand),
        lambda now, hand: (number.read(now, hand),),
        lambda now, hand, values: number.write(now, hand, values[0]),
    )


def settings(hand: Hand) -> list[Setting]:
    """Everything that can be set in a mode.

    Example:
        >>> [one.name for one in settings(Hand()) if "white" in one.name]
        ['white point', 'white']
    """
    if hand.mode == "matte":
        inside = [one for control in (SLOPE, OFFSET, POWER) for one in _of_control(control, INSIDE)]
        controls = [one for control in MATTE_CONTROLS for one in _of_control(control, MATTE)] + inside
    else:
        controls = [one for control in CONTROLS for one in _of_control(control, WHOLE)]
    mode: Mode = "matte" if hand.mode == "matte" else "balance"  # a curve has :point
    more = (balance.TOE,) if mode == "balance" else ()
    columns = [*(column for bank in BANKS[mode] for column in bank.columns if column is not None), *more]
    desk = {column.name: of_column(column, hand) for column in columns}
    for place, one in enumerate(controls):
        if one.name in desk:  # its column knows better what it can't be
            controls[place] = replace(desk.pop(one.name), path=one.path, channel=one.channel)
    return [*controls, *desk.values()]


def _of_control(control: Control, part: Lens) -> list[Setting]:
    """A control, and each of its channels if it has three."""

    def read(correction: Correction, hand: Hand) -> Values:
        value = got(part.get(correction, hand), control.path)
        return tuple(value) if isinstance(value, tuple) else (float(value),)

    def to(correction: Correction, hand: Hand, values: Values) -> Correction:
        value = values if len(values) > 1 else values[0]
        return part.put(correction, hand, put(part.get(correction, hand), control.path, value))

    def channel(place: int) -> Setting:
        def put_one(correction: Correction, hand: Hand, values: Values) -> Correction:
            before = read(correction, hand)
            return to(correction, hand, (*before[:place], *values, *before[place + 1 :]))

        name, path = (f"{one} {PRIMARIES[place]}" for one in (control.name, control.path))
        return Setting(name, path, True, control, lambda now, hand: (read(now, hand)[place],), put_one, True)

    whole = Setting(control.name, control.path, control in COLOURED, control, read, to)
    three = control.path.startswith("balance.") or control.name == "flare"
    return [whole, *(channel(place) for place in range(3))] if three else [whole]
