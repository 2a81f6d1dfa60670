"""Edits of the current shot, or of the group, which is the marked shots and the current one, as one step of undo.

A nudge is relative: each shot gets the same step on its own correction. An encoding, a paste and a reset give all
shots the same value. A shot of several that can't take the change is reported, and the others are changed.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

from msgspec.structs import replace

from poise.correction import NEUTRAL, Correction
from poise.errors import FileError, PoiseError
from poise.sidecar.decision import Decision
from poise_tui import desk
from poise_tui.desk.settings import of_column
from poise_tui.edits.encoding import usable
from poise_tui.session.clipboard import pasted
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState, StillReading

Change = Callable[[int], Decision]
"""Returns a new decision about a shot; raises PoiseError if the shot can't take it."""


@dataclass(frozen=True)
class Result:
    """What a change of the group did.

    Attributes:
        asked: how many shots it was for.
        moved: how many it changed.
        still: the shots that it left as they were.
        refused: the shots that can't take it, and why.
    """

    asked: int
    moved: int
    still: tuple[int, ...]
    refused: tuple[tuple[int, str], ...]


def on(session: Session) -> bool:
    """Whether nudges go to the group: only in modes where the columns mean the same on every shot."""
    return session.together and session.hand.mode in ("balance", "reel")


def members(session: Session) -> list[int]:
    """The shots that an edit goes to: the marked ones and the current one if the group is on, else the current one."""
    return sorted(session.marked | {session.index}) if on(session) else [session.index]


def nudge(session: Session, place: int, direction: int) -> Result:
    """Moves the column at a place by one step, on each shot from its own value.

    Raises:
        PoiseError: the column is empty, or the one shot can't take it, as in all that follow.
    """
    hand, steps, column = session.hand, direction * session.hand.step, session.column(place)
    return _move(session, column, lambda correction: column.nudged(correction, hand, steps))


def home(session: Session, place: int) -> Result:
    """Resets the column at a place to neutral on each shot."""
    hand, column = session.hand, session.column(place)
    return _move(session, column, lambda correction: column.home(correction, hand))


def write(session: Session, place: int, value: float) -> Result:
    """Gives the number of the column at a place the same value on each shot."""
    hand, column = session.hand, session.column(place)
    setting = of_column(column, hand)
    return _move(session, column, lambda correction: setting.written(correction, hand, (value,)))


def encode(session: Session, changes: Mapping[str, str | None], onto: Collection[int] = ()) -> Result:
    """Gives each shot the same value in some parts of its encoding.

    Args:
        onto: the shots, where they are others than the `members`.
    """

    def encoded(index: int) -> Decision:
        before, slot = session.encoding(index), session.slots[index]
        after = replace(before, **changes)
        if "source" in changes:
            usable(slot.shot, after.source)
        if changes.get("matrix") and slot.shot.clip is None:
            raise FileError(slot.shot.name, "it is no movie, so it has no matrix")
        return slot.decision if after == before else replace(slot.decision, encoding=after)

    return do(session, encoded, onto)


def reset(session: Session) -> Result:
    """Resets the whole correction on each shot, over all frames; encoding, state and note stay."""

    def neutral(index: int) -> Decision:
        return replace(corrected(session.slots[index].decision, NEUTRAL), keyframes=(), steady=None)

    return do(session, neutral)


def paste(session: Session, parts: Sequence[str] = Correction.__struct_fields__, onto: Collection[int] = ()) -> Result:
    """Pastes what was copied onto each shot.

    Args:
        parts: which parts of a whole correction to paste.
        onto: the shots, where they are others than the `members`.

    Raises:
        PoiseError: nothing was copied.
    """
    what = session.copied
    if what is None:
        raise PoiseError("nothing was copied yet")

    def taken(index: int) -> Decision:
        decision = session.slots[index].decision
        return corrected(decision, pasted(decision.correction, what, parts))

    return do(session, taken, onto)


def do(session: Session, change: Change, onto: Collection[int] = ()) -> Result:
    """Changes the decision about each of the `members`, or of other shots, as one step.

    Raises:
        StillReading: a sidecar is not read yet; no shot is changed, so that a step never reaches only some of them.
        PoiseError: there is one shot, and it can't take the change.
    """
    asked = sorted(onto) or members(session)
    unread = sum(not session.load(index).loaded for index in asked)
    if unread:
        what = f"{unread} of {len(asked)} sidecars are" if len(asked) > 1 else "its sidecar is"
        raise StillReading(f"{what} still being read")
    after: dict[int, Decision] = {}
    still, refused = [], []
    for index in asked:
        slot = session.slots[index]
        try:
            if len(asked) > 1 and slot.fault and (slot.conflict or not slot.unsaved):
                raise PoiseError("its sidecar has a fault")
            if session.decide(change(index), index):
                after[index] = slot.history.present
            else:
                still.append(index)
        except PoiseError as fault:
            if len(asked) == 1:
                raise
            refused.append((index, str(fault)))
    if after:
        session.last = session.index if session.index in after else max(after)
    session.share(after)
    return Result(len(asked), len(after), tuple(still), tuple(refused))


def summary(session: Session, result: Result, did: str, not_moved: str, shots: str = "shots") -> str:
    """How a change went, in one line; empty where all went well.

    Args:
        did: what was done, such as "moved".
        not_moved: why a shot can stay as it was, such as "at the limit".
    """
    if result.asked == 1:
        return "" if result.moved else not_moved
    reasons: dict[str, list[int]] = {}
    for index in result.still:
        reasons.setdefault(not_moved, []).append(index)
    for index, reason in result.refused:
        reasons.setdefault(reason, []).append(index)
    if not reasons:
        return ""
    unchanged = ", ".join(f"{listed(session, indexes)} ({reason})" for reason, indexes in reasons.items())
    return f"{did} {result.moved} of {result.asked} {shots}; unchanged: {unchanged}"


def listed(session: Session, indexes: list[int]) -> str:
    """The name of the first of some shots, and how many more there are."""
    more = f" and {len(indexes) - 1} more" if len(indexes) > 1 else ""
    return session.slots[indexes[0]].shot.name + more


def undo(session: Session) -> tuple[bool, str]:
    """Undoes one decision on the current shot, and on all shots that it was made on together.

    Returns:
        Whether there was one, and a message about the other shots.
    """
    return _step(session, back=True)


def redo(session: Session) -> tuple[bool, str]:
    """Redoes one decision, likewise."""
    return _step(session, back=False)


def _step(session: Session, back: bool) -> tuple[bool, str]:
    wanted = _next(session.slot, back)
    step = next((one for one in reversed(session.steps) if one.after.get(session.index) is wanted), None)
    if step is None:
        return (session.undo if back else session.redo)(), ""
    others = [index for index in step.after if (index in step.done) == back]
    went = [index for index in others if _next(session.slots[index], back) is step.after[index]]
    left = sorted(set(others) - set(went))
    for index in went:
        (session.undo if back else session.redo)(index)
    step.done = step.done - set(went) if back else step.done | set(went)
    stays = f"; not on {listed(session, left)}, changed since" if left else ""
    shots = f"{len(went)} shots together" if len(went) > 1 else "1 shot"
    return True, f"{'undone' if back else 'redone'} on {shots}{stays}"


def _next(slot: ShotState, back: bool) -> Decision | None:
    """The decision that undo would take back, or redo would restore."""
    if back:
        return slot.history.present
    return slot.history.redo().present if slot.history.ahead else None


def _move(session: Session, column: desk.Column, change: Callable[[Correction], Correction]) -> Result:
    def moved(index: int) -> Decision:
        if column.coloured:
            session.probed(index)
        session.suited(column, index)
        decision = session.slots[index].decision
        return corrected(decision, change(decision.correction))

    before = session.slot.decision.correction
    result = do(session, moved)
    session.hand = column.follow(before, session.slot.decision.correction, session.hand)
    return result


def corrected(decision: Decision, correction: Correction) -> Decision:
    """The same decision if the correction is, else one that counts as made by hand; a neutral one has no certainty."""
    if correction == decision.correction:
        return decision
    sure = None if correction == NEUTRAL else decision.certainty
    return replace(decision, correction=correction, by_hand=True, certainty=sure)
