"""The desk: ten columns of three keys, in banks, for each thing that is worked at.

Ten columns lie under the fingers of both hands. The upper key raises, the lower key lowers, the home key puts the
control back to neutral. Balance columns move the zone that is chosen; the tenth is the toe in the shadows, else the
shoulder.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from poise.correction import Correction, Encoding, Matte, Zone
from poise.errors import PoiseError
from poise.sidecar.decision import Decision
from poise_tui.desk import balance, curve, matte
from poise_tui.desk.column import Column, put
from poise_tui.desk.encoding import ENCODING, Part, put_home, turned
from poise_tui.desk.hand import CHANNELS, MODES, PATCHES, STEPS, WIPES, Channel, Hand, Mode, Shown, Wipe

__all__ = [
    "CHANNELS",
    "MODES",
    "PATCHES",
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
    "encoding_column",
    "is_neutral",
    "put",
    "put_home",
    "readout",
    "turned",
]


@dataclass(frozen=True)
class Bank:
    """The columns under the fingers at one time; what follows them is empty."""

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
    """The banks of a mode, in the order in which the desk turns."""
    return BANKS[mode]


def _found(hand: Hand, place: int) -> Column | Part | None:
    columns = banks(hand.mode)[hand.bank].columns
    found = columns[place] if place < len(columns) else None
    shadows = found is balance.FIRST[-1] and hand.zone is Zone.SHADOWS
    return balance.TOE if shadows else found


def column(hand: Hand, place: int) -> Column | None:
    """The column at a place of the bank under the fingers; None for those of the encoding, and where there is none."""
    found = _found(hand, place)
    return found if isinstance(found, Column) else None


def encoding_column(hand: Hand, place: int) -> Part | None:
    """source, delivery or range, if the column at a place of the bank under the fingers is one of them."""
    found = _found(hand, place)
    return None if isinstance(found, Column) else found


def readout(hand: Hand, place: int, decision: Decision, encoding: Encoding) -> tuple[str, str, str]:
    """Name, value and unit of the column at a place; empty texts where there is none."""
    found = column(hand, place)
    if found is not None:
        return (found.name, *found.read(*_readable(decision.correction, hand)))
    what = encoding_column(hand, place)
    return (what, getattr(encoding, what), "") if what else ("", "", "")


def is_neutral(hand: Hand, place: int, decision: Decision) -> bool:
    """Whether the column at a place changes nothing, in the zone of the hand."""
    found = column(hand, place)
    if found is None:
        return decision.encoding is None
    correction, hand = _readable(decision.correction, hand)
    try:
        return found.home(correction, hand) == correction
    except PoiseError:
        return True


def _readable(correction: Correction, hand: Hand) -> tuple[Correction, Hand]:
    """What is in hand, with one matte more to read where it is still to be made."""
    if hand.mode != "matte" or matte.matte_of(correction, hand) is not None:
        return correction, hand
    hand = replace(hand, matte=matte.place_of(correction, hand))
    return matte.with_matte(correction, hand, Matte("new")), hand
