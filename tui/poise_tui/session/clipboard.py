"""What was copied, to be pasted onto other shots: a whole correction, one matte, or the curves."""

from collections.abc import Sequence

from msgspec.structs import replace

from poise.correction import Correction, Curves, Matte
from poise.correction.controls import MOST_MATTES
from poise.errors import PoiseError
from poise_tui.desk import Hand
from poise_tui.desk.matte import matte_of

Copied = Correction | Matte | Curves


def copied(correction: Correction, hand: Hand) -> Copied:
    """What is in hand: the matte in the matte table, the curves in the curve table, else the whole correction.

    Raises:
        PoiseError: there is no matte yet.
    """
    if hand.mode == "matte":
        found = matte_of(correction, hand)
        if found is None:
            raise PoiseError("there is no matte to copy yet")
        return found
    return correction.curves if hand.mode == "curve" else correction


def told(what: Copied) -> str:
    """What was copied, in words."""
    if isinstance(what, Matte):
        return f"the matte {what.name!r}"
    return "the curves" if isinstance(what, Curves) else "the correction"


def pasted(correction: Correction, what: Copied, parts: Sequence[str] = Correction.__struct_fields__) -> Correction:
    """A correction with what was copied put onto it; a matte is added behind those that are there.

    Args:
        parts: of a whole correction, which to take.

    Raises:
        PoiseError: there are as many mattes as there may be.

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
    """One more matte behind the others, under a name of its own."""
    if len(correction.mattes) >= MOST_MATTES:
        raise PoiseError(f"a shot has at most {MOST_MATTES} mattes: delete one first")
    return replace(correction, mattes=(*correction.mattes, replace(matte, name=fresh(matte.name, correction))))


def fresh(name: str, correction: Correction) -> str:
    """A name that no matte of a correction has, the given one if it is free."""
    taken = {matte.name for matte in correction.mattes}
    stem, _, number = name.rpartition(" ")
    stem = stem if number.isdecimal() and stem else name
    count, found = 1, name
    while found in taken:
        count += 1
        found = f"{stem[:60]} {count}"
    return found
