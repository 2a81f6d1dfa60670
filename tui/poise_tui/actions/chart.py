"""Actions on a colour chart in the picture, in pick mode."""

from poise_tui.actions.registry import Action, Desk, said
from poise_tui.desk import Mode
from poise_tui.edits import charting

_PICK: tuple[Mode, ...] = ("pick",)


def _corner(desk: Desk) -> None:
    assert desk.picture  # raises while there is no picture
    corners = charting.corner(desk.session)
    if corners is None:
        desk.say(charting.progress(desk.session))
    else:
        desk.chart(corners)


def _find(desk: Desk) -> None:
    assert desk.picture
    desk.chart(None)


CHART: tuple[Action, ...] = (
    Action(
        "chart.corner", "picking a grey", "set a corner of a chart; the fourth balances by the chart", _corner, _PICK
    ),
    Action("chart.back", "picking a grey", "remove the last corner", said(charting.back), _PICK),
    Action("chart.find", "picking a grey", "find a chart and balance by it", _find, _PICK),
)
