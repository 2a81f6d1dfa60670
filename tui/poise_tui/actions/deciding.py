"""Actions on the decision about the current shot, or about the whole group."""

from poise.correction import Correction
from poise.sidecar.decision import Decision
from poise_tui.actions.columns import report
from poise_tui.actions.registry import Action, Desk
from poise_tui.desk import Mode
from poise_tui.edits import group, keying, shaping
from poise_tui.edits.encoding_chooser import EncodingChooser
from poise_tui.edits.versions import VersionChooser
from poise_tui.session.clipboard import label


def _undo(desk: Desk, forward: bool) -> None:
    session = desk.session
    before = session.slot.decision
    moved, shared = (group.redo if forward else group.undo)(session)
    after = session.slot.decision
    if shared:
        desk.say(shared)
    elif moved and session.hand.mode != "balance":
        desk.say(f"{'redid' if forward else 'undid'}: {', '.join(_differing(before, after))}")
    if not moved:
        last = session.last
        elsewhere = last is not None and last != session.index
        where = f"; {session.slots[last].shot.name} was changed last" if elsewhere and last is not None else ""
        desk.say("nothing to redo" if forward else f"nothing to undo on this shot{where}")
    desk.changed()


def _differing(before: Decision, after: Decision) -> list[str]:
    """The parts in which two decisions differ, in words."""
    one, other = before.correction, after.correction
    named = [part for part in Correction.__struct_fields__ if getattr(one, part) != getattr(other, part)]
    also = {"encoding": "encoding", "judged": "the judged frame", "state": "state", "note": "note"}
    return named + [name for part, name in also.items() if getattr(before, part) != getattr(after, part)]


def _reset(desk: Desk) -> None:
    session = desk.session
    if session.hand.mode == "matte":
        desk.say(keying.reset(session))
    elif session.hand.mode == "curve":
        desk.say(shaping.reset(session))
    else:
        report(desk, group.reset(session), "reset", "already neutral", "back to neutral; undo takes it back")


def _copy(desk: Desk) -> None:
    desk.say(f"copied {label(desk.session.copy())} of {desk.session.slot.shot.name}")


def _paste(desk: Desk) -> None:
    result, what = group.paste(desk.session), desk.session.copied
    report(desk, result, "pasted onto", "already the same", f"pasted {label(what)}" if what else "")


_UNDO = "undo, per shot, without limit; presses of one column within a second, and a group edit, as one step"

_VERSIONS: tuple[Mode, ...] = ("balance", "drift", "reel")

DECIDE: tuple[Action, ...] = (
    Action("copy", "decide", "copy the correction; in matte and curve mode, the matte or the curves", _copy),
    Action("paste", "decide", "paste what was copied", _paste),
    Action("reset", "decide", "reset the correction; in matte and curve mode, the current matte or curve", _reset),
    Action(
        "encoding",
        "decide",
        "choose source, delivery and range by name",
        lambda desk: desk.choose(EncodingChooser(desk.session, lambda: desk.names)),
    ),
    Action(
        "version.keep",
        "decide",
        "keep the correction as a version, under a name",
        lambda desk: desk.ask("version"),
        _VERSIONS,
    ),
    Action(
        "version.take",
        "decide",
        "take a version: typing narrows the list, the scopes show it",
        lambda desk: desk.choose(VersionChooser(desk.session)),
        _VERSIONS,
    ),
    Action("undo", "decide", _UNDO, lambda desk: _undo(desk, forward=False)),
    Action("redo", "decide", "redo what was undone", lambda desk: _undo(desk, forward=True)),
)
