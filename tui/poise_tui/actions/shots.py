"""Actions on the list of shots: moving in it, filtering, marking, and grouping the marked shots."""

from collections.abc import Callable
from typing import Any

from poise.errors import PoiseError
from poise_tui.actions.registry import Action, Desk, said, then
from poise_tui.desk import MODES
from poise_tui.edits import group, judged_frame
from poise_tui.session.filter import ONLY, ORDERS
from poise_tui.session.session import Session


def move(by: Callable[[Desk], int]) -> Callable[[Desk], None]:
    """An action that goes to the shot a number of rows further down the list."""

    def run(desk: Desk) -> None:
        steps = by(desk)
        to = desk.session.listing.offset(steps)
        if to == desk.session.index:
            desk.say("that is the first shot" if steps < 0 else "that is the last shot")
        else:
            desk.go(to)

    return run


def _end(desk: Desk, place: int) -> None:
    listed = desk.session.listing.matching
    if not listed:
        raise PoiseError(nothing(desk.session))
    if listed[place] == desk.session.index:
        desk.say("that is the last shot" if place else "that is the first shot")
    else:
        desk.go(listed[place])


def nothing(session: Session) -> str:
    """A message that no shot is listed, and how to list all."""
    wish = session.listing.wish
    ways = (":only all" if wish.only != "all" else "", ":list" if wish.text else "")
    return f"no shot is listed ({', '.join(wish.words)}); {' and '.join(way for way in ways if way)} to list all"


def narrowed(session: Session) -> str:
    """What the list shows now, in words."""
    listing, every = session.listing, len(session.slots)
    words = ", ".join(listing.wish.words)
    if listing.wish.narrow:
        text = f"{words}: {len(listing.matching)} of {every} shots listed"
    else:
        text = f"all {every} shots listed, {words or 'by name'}"
    what = "without a starting point of auto" if listing.wish.order == "certainty" else "not measured yet"
    more = f"; {listing.unmeasured} {what}, last" if listing.unmeasured else ""
    return text + more + ("" if listing.holds else f"; {session.slot.shot.name} stays the current shot")


def _only(desk: Desk) -> None:
    wish = desk.session.listing.wish
    narrow(desk, only=ONLY[(ONLY.index(wish.only) + 1) % len(ONLY)])


def _order(desk: Desk) -> None:
    wish = desk.session.listing.wish
    narrow(desk, order=ORDERS[(ORDERS.index(wish.order) + 1) % len(ORDERS)])


def narrow(desk: Desk, **changes: Any) -> None:
    """Changes the filter, text or order of the list."""
    desk.session.listing.ask(**changes)
    desk.say(narrowed(desk.session))


def _mark_all(desk: Desk) -> None:
    every = desk.session.mark_all()
    desk.say(f"{len(desk.session.marked)} shots are marked" if every else "no shot is marked")


def _group(desk: Desk) -> None:
    session = desk.session
    session.together = not session.together
    if not session.together:
        desk.say("group off: nudges go to the current shot only")
    elif not session.marked:
        desk.say("group on: nudges also go to the shots that you mark")
    else:
        shots = f"{len(group.members(session))} shots"
        desk.say(f"group on: nudges, auto, match, paste, reset and the encoding go to {shots}")


PLAYED = tuple(mode for mode in MODES if mode != "reel")

SHOTS: tuple[Action, ...] = (
    Action("shot.next", "shots", "next shot", move(lambda desk: 1)),
    Action("shot.previous", "shots", "previous shot", move(lambda desk: -1)),
    Action("shot.page-down", "shots", "a page of shots down", move(lambda desk: desk.page())),
    Action("shot.page-up", "shots", "a page of shots up", move(lambda desk: -desk.page())),
    Action("shot.first", "shots", "first shot", lambda desk: _end(desk, 0)),
    Action("shot.last", "shots", "last shot", lambda desk: _end(desk, -1)),
    Action("frame.next", "shots", "next frame of a sequence", lambda desk: desk.frame(+1)),
    Action("frame.previous", "shots", "previous frame of a sequence", lambda desk: desk.frame(-1)),
    Action(
        "play",
        "shots",
        "play the frames of a sequence; the same or another key stops",
        lambda desk: desk.play(),
        PLAYED,
    ),
    Action("frame.judged", "shots", "judge the sequence by this frame from now on", said(judged_frame.pin)),
    Action("find", "shots", "find a shot by part of its name", lambda desk: desk.ask("find")),
    Action("find.again", "shots", "find the next match", lambda desk: desk.find(None)),
    Action("list.only", "shots", f"list only {', '.join(ONLY[1:])}, in turn", _only),
    Action("list.order", "shots", f"order the list by {', '.join(ORDERS)}, in turn", _order),
    Action("list.name", "shots", "list only names that contain a text", lambda desk: desk.ask("list")),
    Action("list.all", "shots", "list all shots", lambda desk: narrow(desk, only="all", text=""), ("balance",)),
    Action("mark", "shots", "mark or unmark the shot", lambda desk: then(desk, desk.session.mark)),
    Action("mark.all", "shots", "mark all listed shots, or clear all marks", _mark_all),
    Action("group", "shots", "apply desk, reset, paste, auto and match to the marked shots and this one", _group),
)
