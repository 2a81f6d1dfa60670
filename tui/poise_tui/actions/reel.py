"""Actions on the reel: move along its columns, go to outliers, and set how many shots one column shows."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk, then
from poise_tui.actions.shots import move

GROUPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
"""How many shots one column can show."""


def _along(by: int) -> Callable[[Desk], None]:
    return move(lambda desk: by * desk.session.hand.each)


def _outlier(by: int) -> Callable[[Desk], None]:
    def to(desk: Desk) -> None:
        listing, outliers = desk.session.listing, desk.survey.reel(desk.session.before).outliers
        ahead = listing.shown[listing.place + 1 :] if by > 0 else listing.shown[: listing.place][::-1]
        found = next((index for index in ahead if outliers[index]), None)
        if found is not None:
            desk.go(found)
        elif not outliers.any():
            desk.say("no shot is an outlier")
        else:
            desk.say("no outlier after this shot" if by > 0 else "no outlier before this shot")

    return to


def _group(desk: Desk, by: int) -> None:
    session = desk.session
    place = GROUPS.index(session.hand.each) + by
    if place < 0:
        desk.say("already one shot per column")
    elif place == len(GROUPS) or GROUPS[place] >= max(len(session.listing.shown), 2):
        desk.say("a column can't show more shots")
    else:
        then(desk, lambda: session.hold(each=GROUPS[place]))


def _action(name: str, does: str, run: Callable[[Desk], None]) -> Action:
    return Action(f"reel.{name}", "reel", does, run, ("reel",))


REEL: tuple[Action, ...] = (
    _action("right", "the shot of the next column", _along(+1)),
    _action("left", "the shot of the previous column", _along(-1)),
    _action("next", "the next outlier", _outlier(+1)),
    _action("previous", "the previous outlier", _outlier(-1)),
    _action("wider", "more shots per column", lambda desk: _group(desk, +1)),
    _action("closer", "fewer shots per column", lambda desk: _group(desk, -1)),
    _action("open", "balance this shot", lambda desk: desk.work("balance")),
)
