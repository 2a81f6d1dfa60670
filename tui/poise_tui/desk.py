"""The desk: ten columns of three keys in two banks, and what a nudge of each does to a decision.

Ten columns lie under the fingers of both hands. The upper key raises, the lower key lowers, the home key puts the
control back to neutral. Balance columns move the zone that is chosen; the tenth is the toe in the shadows, else the
shoulder.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce

from msgspec.structs import replace

from poise.correction import Balance, Control, Correction, Encoding, Levels, Zone, nudge
from poise.correction import controls as c
from poise_tui.decision import Decision

STEPS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""How many steps of a control one key press is."""
ALL = (0, 1, 2)


@dataclass(frozen=True)
class Hand:
    """How the desk stands: which bank is under the fingers, the zone of balance nudges, and the step.

    Attributes:
        bank: 0 or 1.
        size: the place in STEPS.
    """

    bank: int = 0
    zone: Zone = Zone.WHOLE
    size: int = 2

    @property
    def step(self) -> float:
        return STEPS[self.size]


Change = Callable[[Correction, Zone, float], Correction]


@dataclass(frozen=True)
class Column:
    """One column of a bank.

    Attributes:
        name: what it is called, short enough for eight cells.
        coloured: whether it tells channels apart, which a grey picture can't take.
        nudged: the correction moved by a number of steps.
        home: the correction with this control neutral.
        read: value and unit, as text.
    """

    name: str
    coloured: bool
    nudged: Change
    home: Callable[[Correction, Zone], Correction]
    read: Callable[[Correction, Zone], tuple[str, str]]


def moved(control: Control, value: float, steps: float) -> float:
    """A control's value moved by steps, inside its limits.

    Example:
        >>> moved(c.EXPOSURE, 0.0, 3)
        0.25
    """
    return control.clamp(value * control.step**steps if control.ratio else value + control.step * steps)


def number(control: Control, value: float) -> str:
    """A value in as many places as its finest step needs; differences from neutral have a sign."""
    places = {"stops": 2, "mired": 1, "CC": 2}.get(control.unit, 3)
    signed = "+" if control.neutral == 0 and not control.ratio and control is not c.BLACK else ""
    return f"{value:{signed}.{places}f}"


def put(correction: Correction, control: Control, value: float | tuple[float, float, float]) -> Correction:
    """A correction with one control at a value.

    Raises:
        ValueError: the model does not take it beside the other values.
    """
    part, _, field = control.path.rpartition(".")
    if not part:
        return replace(correction, **{field: value})
    return replace(correction, **{part: replace(getattr(correction, part), **{field: value})})


def _plain(name: str, control: Control, coloured: bool = False) -> Column:
    def get(correction: Correction) -> float:
        return float(reduce(getattr, control.path.split("."), correction))  # type: ignore[arg-type]

    return Column(
        name,
        coloured,
        lambda correction, zone, steps: put(correction, control, moved(control, get(correction), steps)),
        lambda correction, zone: put(correction, control, control.neutral),
        lambda correction, zone: (number(control, get(correction)), control.unit or "bend"),
    )


def _balance(name: str, channels: tuple[int, ...]) -> Column:
    return Column(
        name,
        len(channels) == 1,
        lambda correction, zone, steps: replace(correction, balance=nudge(correction.balance, zone, channels, steps)),
        lambda correction, zone: replace(correction, balance=_home(correction.balance, zone, channels)),
        lambda correction, zone: _read(correction.balance, zone, channels),
    )


def _home(balance: Balance, zone: Zone, channels: tuple[int, ...]) -> Balance:
    """A zone's own share taken back, by the same family of moves that nudged it there.

    Shadows: offset to 0, white held. Highlights: white to 1, black held. Midtones: power to 1. Whole trace: all three.
    """
    slope, offset, power = list(balance.slope), list(balance.offset), list(balance.power)
    for i in channels:
        white = slope[i] + offset[i]
        if zone is Zone.WHOLE:
            slope[i], offset[i], power[i] = 1.0, 0.0, 1.0
        elif zone is Zone.MIDTONES:
            power[i] = 1.0
        elif zone is Zone.SHADOWS and offset[i] < 1:
            slope[i], offset[i] = slope[i] / (1 - offset[i]), 0.0
        elif zone is Zone.HIGHLIGHTS and white > 0:
            slope[i], offset[i] = slope[i] / white, offset[i] / white
    return replace(
        balance,
        slope=tuple(map(c.SLOPE.clamp, slope)),
        offset=tuple(map(c.OFFSET.clamp, offset)),
        power=tuple(map(c.POWER.clamp, power)),
    )


def _read(balance: Balance, zone: Zone, channels: tuple[int, ...]) -> tuple[str, str]:
    control, values = {
        Zone.SHADOWS: (c.OFFSET, balance.offset),
        Zone.MIDTONES: (c.POWER, balance.power),
        Zone.HIGHLIGHTS: (c.SLOPE, balance.slope),
        Zone.WHOLE: (c.OFFSET, balance.offset),
    }[zone]
    taken = [values[i] for i in channels]
    unit = control.name if _only(balance, zone, channels) else f"{control.name} *"
    return ("~" if len(set(taken)) > 1 else "") + number(control, sum(taken) / len(taken)), unit


def _only(balance: Balance, zone: Zone, channels: tuple[int, ...]) -> bool:
    """Whether nothing of these channels is set in another zone, out of sight."""
    parts = {"offset": balance.offset, "power": balance.power, "slope": balance.slope}
    parts.pop({Zone.MIDTONES: "power", Zone.HIGHLIGHTS: "slope"}.get(zone, "offset"))
    neutral = {"offset": 0.0, "power": 1.0, "slope": 1.0}
    return all(values[i] == neutral[name] for name, values in parts.items() for i in channels)


def _point(name: str, control: Control) -> Column:
    """Black or white point: neither comes nearer to the other than the model allows."""
    plain = _plain(name, control)

    def held(levels: Levels, value: float) -> Levels:
        if control is c.BLACK:
            return replace(levels, black=control.clamp(min(value, levels.white - c.LEAST_RANGE)))
        return replace(levels, white=control.clamp(max(value, levels.black + c.LEAST_RANGE)))

    def nudged(correction: Correction, zone: Zone, steps: float) -> Correction:
        value = correction.levels.black if control is c.BLACK else correction.levels.white
        return replace(correction, levels=held(correction.levels, moved(control, value, steps)))

    def home(correction: Correction, zone: Zone) -> Correction:
        return replace(correction, levels=held(correction.levels, control.neutral))

    return Column(name, False, nudged, home, plain.read)


_TOE, _SHOULDER = _plain("toe", c.TOE), _plain("shoulder", c.SHOULDER)

FIRST = (
    _balance("red", (0,)),
    _balance("green", (1,)),
    _balance("blue", (2,)),
    _balance("level", ALL),
    _plain("warmth", c.WARMTH, coloured=True),
    _plain("magenta", c.MAGENTA, coloured=True),
    _plain("exposure", c.EXPOSURE),
    _plain("contrast", c.CONTRAST),
    _plain("saturation", c.SATURATION),
    _SHOULDER,
)
SECOND = (_point("black", c.BLACK), _point("white", c.WHITE), _plain("pivot", c.PIVOT))
ENCODING = ("source", "delivery", "range")
"""Columns of the second bank that follow SECOND; they change the encoding, not the correction."""


def column(hand: Hand, place: int) -> Column | None:
    """The column at a place of the bank under the fingers; None for those of the encoding, and where there is none."""
    if hand.bank == 1:
        return SECOND[place] if place < len(SECOND) else None
    return _TOE if place == 9 and hand.zone is Zone.SHADOWS else FIRST[place]


def encoding_column(hand: Hand, place: int) -> str | None:
    """source, delivery or range, if the column at a place of the bank under the fingers is one of them."""
    place -= len(SECOND)
    return ENCODING[place] if hand.bank == 1 and 0 <= place < len(ENCODING) else None


def turned(encoding: Encoding, what: str, steps: int, names: tuple[str, ...]) -> Encoding:
    """An encoding with the next or previous transfer function in `names`, or with the other range.

    Example:
        >>> turned(Encoding(), "range", 1, ()).range
        'narrow'
    """
    if what == "range":
        return replace(encoding, range="narrow" if encoding.range == "full" else "full")
    present = getattr(encoding, what)
    place = names.index(present) if present in names else 0
    return replace(encoding, **{what: names[(place + steps) % len(names)]})


def put_home(encoding: Encoding, what: str, default: Encoding) -> Encoding:
    """An encoding with one part back at the default of the file."""
    return replace(encoding, **{what: getattr(default, what)})


def readout(hand: Hand, place: int, decision: Decision, encoding: Encoding) -> tuple[str, str, str]:
    """Name, value and unit of the column at a place; empty texts where there is none."""
    found = column(hand, place)
    if found is not None:
        return (found.name, *found.read(decision.correction, hand.zone))
    what = encoding_column(hand, place)
    return (what, getattr(encoding, what), "") if what else ("", "", "")


def is_neutral(hand: Hand, place: int, decision: Decision) -> bool:
    """Whether the column at a place changes nothing, in the zone of the hand."""
    found = column(hand, place)
    if found is not None:
        return found.home(decision.correction, hand.zone) == decision.correction
    return decision.encoding is None
