"""Actions on the list of shots: going about in it, marking, and working at the marked ones together."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk, said, then
from poise_tui.edits import judging, together


def _move(by: Callable[[Desk], int]) -> Callable[[Desk], None]:
    return lambda desk: desk.go(desk.session.index + by(desk))


def _mark_all(desk: Desk) -> None:
    every = desk.session.mark_all()
    desk.say(f"{len(desk.session.marked)} shots are marked" if every else "no shot is marked any more")


def _group(desk: Desk) -> None:
    session = desk.session
    session.together = not session.together
    if not session.together:
        desk.say("group off: nudges go to the shot in hand alone")
    elif not session.marked:
        desk.say("group on: nudges go to the shots that you mark as well")
    else:
        shots = f"{len(together.members(session))} shots"
        table = "" if session.hand.mode == "balance" else " at the balance table"
        desk.say(f"group on{table}: nudges, neutral, reset and paste go to {shots}; auto and states to this one")


SHOTS: tuple[Action, ...] = (
    Action("shot.next", "shots", "next shot", _move(lambda desk: 1)),
    Action("shot.previous", "shots", "previous shot", _move(lambda desk: -1)),
    Action("shot.page-down", "shots", "a page of shots down", _move(lambda desk: desk.page())),
    Action("shot.page-up", "shots", "a page of shots up", _move(lambda desk: -desk.page())),
    Action("shot.first", "shots", "first shot", lambda desk: desk.go(0)),
    Action("shot.last", "shots", "last shot", lambda desk: desk.go(len(desk.session.slots) - 1)),
    Action("frame.next", "shots", "next frame of a sequence", lambda desk: desk.frame(+1)),
    Action("frame.previous", "shots", "previous frame of a sequence", lambda desk: desk.frame(-1)),
    Action("frame.judged", "shots", "judge the sequence on this frame from now on", said(judging.pin)),
    Action("find", "shots", "find a shot by a part of its name", lambda desk: desk.ask("find")),
    Action("find.again", "shots", "the next shot found", lambda desk: desk.find(None)),
    Action("mark", "shots", "mark the shot, or take its mark off", lambda desk: then(desk, desk.session.mark)),
    Action("mark.all", "shots", "mark all listed shots, or take all marks off", _mark_all),
    Action("group", "shots", "desk, reset and paste go to the marked shots and this one, as one step", _group),
)
