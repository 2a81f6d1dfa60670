"""What a view focuses on in the current mode, and the correction without it, for comparison."""

from msgspec.structs import replace

from poise.correction import NEUTRAL, Correction, Curves
from poise_tui.desk import Hand, banks
from poise_tui.desk.matte import matte_of, place_of, with_matte
from poise_tui.measure.view import Focus


def focus_of(correction: Correction, hand: Hand) -> Focus:
    """What the current mode focuses on.

    Example:
        >>> focus_of(NEUTRAL, Hand()), focus_of(NEUTRAL, Hand(mode="matte")).matte
        (Focus(mode='balance', matte=None, shown='result', inverted=False, channel='master', inside=False), None)
    """
    if hand.mode == "matte":
        place = place_of(correction, hand) if matte_of(correction, hand) else None
        return Focus("matte", place, hand.shown, hand.inverted, inside=banks(hand.mode)[hand.bank].name == "inside")
    return Focus("curve", channel=hand.channel) if hand.mode == "curve" else Focus()


def without(correction: Correction, hand: Hand) -> Correction:
    """The correction without the current matte, without the curves, or, in other modes, none at all."""
    if hand.mode == "curve":
        return replace(correction, curves=Curves())
    if hand.mode == "matte":
        matte = matte_of(correction, hand)
        return with_matte(correction, hand, replace(matte, on=False)) if matte else correction
    return NEUTRAL
