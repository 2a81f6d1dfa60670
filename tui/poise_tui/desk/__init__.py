"""The desk: ten columns of three keys, in banks, for each mode.

The ten columns lie under the fingers of both hands. The upper key raises a control, the lower key lowers it, the home
key resets it to neutral. Balance columns move the chosen zone; the tenth column is the toe in the shadows, else the
shoulder. In every bank, raising level, flare, a point or the pivot raises the trace.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from poise.correction import Correction, Matte, Zone
from poise.errors import PoiseError
from poise.sidecar.decision import Decision
from poise_tui.desk import balance, curve, matte
from poise_tui.desk.column import Column, put
from poise_tui.desk.hand import CHANNELS, GAINS, MODES, PATCHES, SCALES, STEPS, WIPES, Channel, Hand, Mode, Shown, Wipe

__all__ = [
    "CHANNELS",
    "GAINS",
    "MODES",
    "PATCHES",
    "SCALES",
    "STEPS",
    "WIPES",
    "Bank",
    "Channel",
    "Column",
    "Hand",
    "Mode",
    "Shown",
    "Wipe",
    "banks",
    "column",
    "is_neutral",
    "put",
    "readout",
    "zoned",
]


@dataclass(frozen=True)
class Bank:
    """The columns that the keys move at one time; columns after them are empty."""

    name: str
    columns: tuple[Column | None, ...]


_BALANCE = (Bank("balance", balance.FIRST), Bank("flare, levels", balance.SECOND))
BANKS: Mapping[Mode, tuple[Bank, ...]] = {
    "balance": _BALANCE,
    "pick": _BALANCE,
    "matte": (Bank("range", matte.RANGE), Bank("edge", matte.EDGE), Bank("inside", matte.WITHIN)),
    "drift": _BALANCE,
    "curve": (Bank("point", curve.POINT),),
    "reel": _BALANCE,
}


def banks(mode: Mode) -> tuple[Bank, ...]:
    """The banks of a mode, in order."""
    return BANKS[mode]


def column(hand: Hand, place: int) -> Column | None:
    """The column at a place of the current bank; None if it is empty."""
    columns = banks(hand.mode)[hand.bank].columns
    found = columns[place] if place < len(columns) else None
    shadows = found is balance.FIRST[-1] and hand.zone is Zone.SHADOWS
    return balance.TOE if shadows else found


def zoned(hand: Hand) -> bool:
    """Whether the zone matters to any column of the current bank.

    Example:
        >>> zoned(Hand()), zoned(Hand(bank=1))
        (True, False)
    """
    return any(found is not None and found.zoned for found in banks(hand.mode)[hand.bank].columns)


def readout(hand: Hand, place: int, decision: Decision) -> tuple[str, str, str]:
    """Name, value and unit of the column at a place; empty strings if the column is empty."""
    found = column(hand, place)
    return ("", "", "") if found is None else (found.name, *found.read(*_readable(decision.correction, hand)))


def is_neutral(hand: Hand, place: int, decision: Decision) -> bool:
    """Whether the column at a place is neutral in the current zone."""
    found = column(hand, place)
    if found is None:
        return True
    correction, hand = _readable(decision.correction, hand)
    try:
        return found.home(correction, hand) == correction
    except PoiseError:
        return True


def _readable(correction: Correction, hand: Hand) -> tuple[Correction, Hand]:
    """The correction and the hand, with one more matte to read if the current one is still to be made."""
    if hand.mode != "matte" or matte.matte_of(correction, hand) is not None:
        return correction, hand
    hand = replace(hand, matte=matte.place_of(correction, hand))
    return matte.with_matte(correction, hand, Matte("new")), hand
