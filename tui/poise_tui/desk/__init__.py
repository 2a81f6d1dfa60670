"""The desk: ten columns of three keys, in banks, for each mode.

The ten columns lie under the fingers of both hands. The upper key raises a control, the lower key lowers it, the home
key resets it to neutral. Balance columns move the chosen zone; the tenth column is the toe in the shadows, else the
shoulder.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from poise.correction import Correction, Encoding, Matte, Zone
from poise.errors import PoiseError
from poise.sidecar.decision import Decision
from poise_tui.desk import balance, curve, matte
from poise_tui.desk.column import Column, put
from poise_tui.desk.encoding import ENCODING, Part, cycled, put_home
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
    "cycled",
    "encoding_column",
    "is_neutral",
    "put",
    "put_home",
    "readout",
]


@dataclass(frozen=True)
class Bank:
    """The columns that the keys move at one time; columns after them are empty."""

    name: str
    columns: tuple[Column | Part | None, ...]


_BALANCE = (Bank("desk", balance.FIRST), Bank("desk", balance.SECOND), Bank("encoding", ENCODING))
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


def _found(hand: Hand, place: int) -> Column | Part | None:
    columns = banks(hand.mode)[hand.bank].columns
    found = columns[place] if place < len(columns) else None
    shadows = found is balance.FIRST[-1] and hand.zone is Zone.SHADOWS
    return balance.TOE if shadows else found


def column(hand: Hand, place: int) -> Column | None:
    """The column at a place of the current bank; None if it is empty or a column of the encoding."""
    found = _found(hand, place)
    return found if isinstance(found, Column) else None


def encoding_column(hand: Hand, place: int) -> Part | None:
    """The part of the encoding that the column at a place of the current bank changes; None for other columns."""
    found = _found(hand, place)
    return None if isinstance(found, Column) else found


def readout(hand: Hand, place: int, decision: Decision, encoding: Encoding) -> tuple[str, str, str]:
    """Name, value and unit of the column at a place; empty strings if the column is empty."""
    found = column(hand, place)
    if found is not None:
        return (found.name, *found.read(*_readable(decision.correction, hand)))
    what = encoding_column(hand, place)
    return (what, getattr(encoding, what), "") if what else ("", "", "")


def is_neutral(hand: Hand, place: int, decision: Decision) -> bool:
    """Whether the column at a place is neutral in the current zone."""
    found = column(hand, place)
    if found is None:
        return decision.encoding is None
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
