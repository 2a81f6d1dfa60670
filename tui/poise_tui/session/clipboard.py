"""The clipboard: a whole correction, one matte, or the curves, to paste onto other shots."""

from collections.abc import Sequence

from msgspec.structs import replace

from poise.correction import Correction, Curves, Matte
from poise.correction.controls import MOST_MATTES
from poise.errors import PoiseError
from poise_tui.desk import Hand
from poise_tui.desk.matte import matte_of

Clipboard = Correction | Matte | Curves


def copied(correction: Correction, hand: Hand) -> Clipboard:
    """The current matte in matte mode, the curves in curve mode, else the whole correction.

    Raises:
        PoiseError: there is no matte yet.
    """
    if hand.mode == "matte":
        found = matte_of(correction, hand)
        if found is None:
            raise PoiseError("there is no matte to copy yet")
        return found
    return correction.curves if hand.mode == "curve" else correction


def label(what: Clipboard) -> str:
    """What was copied, in words, such as "the curves"."""
    if isinstance(what, Matte):
        return f"the matte {what.name!r}"
    return "the curves" if isinstance(what, Curves) else "the correction"


def pasted(correction: Correction, what: Clipboard, parts: Sequence[str] = Correction.__struct_fields__) -> Correction:
    """A correction with the clipboard pasted onto it; a matte is added after those that are there.

    Args:
        parts: which parts of a whole correction to paste.

    Raises:
        PoiseError: the shot has as many mattes as it may have.

    Example:
        >>> pasted(Correction(mattes=(Matte("buoy"),)), Matte("buoy")).mattes[1].name
        'buoy 2'
    """
    if isinstance(what, Curves):
        return replace(correction, curves=what)
    if isinstance(what, Matte):
        return appended(correction, what)
    return replace(correction, **{part: getattr(what, part) for part in parts})


def appended(correction: Correction, matte: Matte) -> Correction:
    """A correction with one more matte after the others, renamed if its name is taken."""
    if len(correction.mattes) >= MOST_MATTES:
        raise PoiseError(f"a shot has at most {MOST_MATTES} mattes: delete one first")
    return replace(correction, mattes=(*correction.mattes, replace(matte, name=fresh(matte.name, correction))))


def fresh(name: str, correction: Correction) -> str:
    """A name that no matte of a correction has: the given one if it is free, else one with a number."""
    taken = {matte.name for matte in correction.mattes}
    stem, _, number = name.rpartition(" ")
    stem = stem if number.isdecimal() and stem else name
    count, found = 1, name
    while found in taken:
        count += 1
        found = f"{stem[:60]} {count}"
    return found
