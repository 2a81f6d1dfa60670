"""Edits of the mattes of the current shot; each returns one sentence that says what was done."""

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.correction import Correction, Encoding, Interval, Matte
from poise.correction.controls import MOST_MATTES
from poise.errors import PoiseError
from poise_tui.desk import PATCHES
from poise_tui.desk.matte import matte_of, place_of, present, with_matte
from poise_tui.edits.patch import Place, patch
from poise_tui.measure.loaded import Loaded
from poise_tui.session.clipboard import appended, fresh
from poise_tui.session.session import Session

NAME = "matte 1"
LONGEST_NAME = 64


def sample(session: Session, picture: Loaded, add: bool) -> str:
    """Adds the colour under the cursor to the current matte, or removes it; the first colour makes the matte.

    Raises:
        PoiseError: the matte can't include the colour, or can't exclude it.
    """
    from poise.solve import sample as sampled

    slot, hand = session.slot, session.hand
    correction = slot.decision.correction
    before = matte_of(correction, hand)
    earlier = replace(correction, mattes=correction.mattes[: place_of(correction, hand)])
    colours = colours_at(picture, earlier, slot.resolved_encoding, hand.place, PATCHES[hand.patch])
    start = before or Matte(NAME)
    if picture.grey:  # only luma has a range that can shrink, and only luma is keyed
        narrow = not add and start.luma != replace(start.luma, low=0.0, high=1.0)
        matte = sampled(replace(start, chroma=Interval(0, 0)) if narrow else start, colours, add)
        matte = replace(matte, hue=Matte(NAME).hue, chroma=Matte(NAME).chroma)
    else:
        matte = sampled(start, colours, add)
    if before is None:
        changed = session.correct(appended(correction, matte))
        session.hold(matte=len(correction.mattes))
    else:
        changed = session.correct(with_matte(correction, hand, matte))
    only = "; a greyscale picture is keyed by luma alone" if picture.grey else ""
    round_ = (matte.hue.low, matte.hue.high) == (0, 360) and not picture.grey
    only += "; near neutral, so every hue is taken" if round_ and add else ""
    if before is None:
        return f"keyed as {session.slot.decision.correction.mattes[-1].name}{only}"
    if not changed:
        return ("the matte already takes that colour" if add else "the matte already excludes that colour") + only
    return f"{'added' if add else 'removed'}: {_moved(before, matte)}{only}"


def _moved(before: Matte, after: Matte) -> str:
    """The ranges that changed, with their new ends."""
    parts = []
    for name in ("hue", "chroma", "luma"):
        was, now = getattr(before, name), getattr(after, name)
        if was != now:
            parts.append(f"{name} {now.low:.4g} to {now.high:.4g}")
    return ", ".join(parts)


def colours_at(
    picture: Loaded, correction: Correction, encoding: Encoding, place: Place, share: float
) -> npt.NDArray[np.float64]:
    """Y'CbCr of the patch at a place under a correction, (pixels, 3), from the proxy."""
    from poise.chain.matte import active
    from poise.colour.luma import to_ycbcr, weights
    from poise.engine import compile_engine

    engine = compile_engine(correction, encoding, picture.depth, output="work")
    assert picture.small is not None
    if active(correction.mattes):  # a matte needs the whole picture
        work = patch(engine.apply(picture.small), place, share)
    else:
        work = engine.apply(np.ascontiguousarray(patch(picture.small, place, share)))
    full = 1 if work.dtype.kind == "f" else picture.depth.maximum
    rgb = np.broadcast_to(work.astype(np.float64) / full, (*work.shape[:2], 3))
    by = weights(encoding.work_primaries)
    return np.asarray(to_ycbcr(rgb.reshape(-1, 3), by), np.float64)


def new(session: Session) -> str:
    """Selects a matte that is still to be made."""
    count = len(session.slot.decision.correction.mattes)
    if count >= MOST_MATTES:
        raise PoiseError(f"a shot has at most {MOST_MATTES} mattes: delete one first")
    session.hold(matte=count)
    return "point at a colour with the arrows; enter keys it"


def switch(session: Session) -> str:
    """Switches the current matte on or off."""
    matte = _present(session)
    _put(session, replace(matte, on=not matte.on))
    return f"{matte.name} is {'off' if matte.on else 'on'}"


def invert(session: Session) -> str:
    """Inverts the current matte."""
    matte = _present(session)
    _put(session, replace(matte, invert=not matte.invert))
    return f"{matte.name} takes {'its ranges' if matte.invert else 'all but its ranges'}"


def name(session: Session, text: str) -> str:
    """Names the current matte; a name that another matte has gets a number.

    Raises:
        PoiseError: the mode is another, there is no matte, or the text has no printable character.
    """
    if session.hand.mode != "matte":
        raise PoiseError("go to matte mode first")
    matte, correction = _present(session), session.slot.decision.correction
    text = "".join(glyph for glyph in text if glyph.isprintable()).strip()[:LONGEST_NAME].rstrip()
    if not text:
        raise PoiseError("a matte needs a name")
    others = replace(correction, mattes=tuple(one for one in correction.mattes if one is not matte))
    called = fresh(text, others)
    _put(session, replace(matte, name=called))
    return f"named {called}"


def move(session: Session, by: int) -> str:
    """Moves the current matte earlier or later in the order."""
    matte, correction = _present(session), session.slot.decision.correction
    place = place_of(correction, session.hand)
    wanted = place + by
    if not 0 <= wanted < len(correction.mattes):
        return "that is the first matte" if by < 0 else "that is the last matte"
    order = list(correction.mattes)
    order.insert(wanted, order.pop(place))
    session.correct(replace(correction, mattes=tuple(order)))
    session.hold(matte=wanted)
    return f"{matte.name} is now number {wanted + 1}"


def delete(session: Session) -> str:
    """Deletes the current matte."""
    matte, correction = _present(session), session.slot.decision.correction
    place = place_of(correction, session.hand)
    left = (*correction.mattes[:place], *correction.mattes[place + 1 :])
    session.correct(replace(correction, mattes=left))
    session.hold(matte=min(place, max(len(left) - 1, 0)))
    return f"{matte.name} is deleted; undo brings it back"


def reset(session: Session) -> str:
    """Resets the current matte: it takes everything and changes nothing inside."""
    matte = _present(session)
    moved = _put(session, Matte(matte.name))
    return f"{matte.name} takes everything and changes nothing; undo takes it back" if moved else "already neutral"


def _present(session: Session) -> Matte:
    return present(session.slot.decision.correction, session.hand)


def _put(session: Session, matte: Matte) -> bool:
    return session.correct(with_matte(session.slot.decision.correction, session.hand, matte))
