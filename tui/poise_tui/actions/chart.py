"""Actions on a chart in the picture, at the table where greys are picked."""

from poise_tui.actions.registry import Action, Desk, said
from poise_tui.desk import Mode
from poise_tui.edits import charting

_PICK: tuple[Mode, ...] = ("pick",)


def _corner(desk: Desk) -> None:
    assert desk.picture  # where none is, there is no chart
    corners = charting.corner(desk.session)
    if corners is None:
        desk.say(charting.told(desk.session))
    else:
        desk.chart(corners)


def _find(desk: Desk) -> None:
    assert desk.picture
    desk.chart(None)


CHART: tuple[Action, ...] = (
    Action("chart.corner", "picking a grey", "set a corner of a chart; the fourth balances by it", _corner, _PICK),
    Action("chart.back", "picking a grey", "take the last corner back", said(charting.back), _PICK),
    Action("chart.find", "picking a grey", "look for a chart, and balance by it", _find, _PICK),
)
