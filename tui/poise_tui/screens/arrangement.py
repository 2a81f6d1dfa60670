"""A layout for textual that places panes as `arrange` says."""

from collections.abc import Callable

from textual.geometry import NULL_OFFSET, NULL_SPACING, Region, Size
from textual.layout import ArrangeResult, Layout, WidgetPlacement
from textual.widget import Widget

from poise_tui.draw.arrange import Area


class Arrangement(Layout):
    """Places children by their id; hides a child without a place."""

    name = "poise"

    def __init__(self, areas: Callable[[int, int], dict[str, Area]]) -> None:
        self._areas = areas

    def arrange(self, parent: Widget, children: list[Widget], size: Size, greedy: bool = True) -> ArrangeResult:
        areas = self._areas(size.width, size.height)
        return [
            WidgetPlacement(Region(area.x, area.y, area.width, area.height), NULL_OFFSET, NULL_SPACING, child)
            for child in children
            if (area := areas.get(child.id or "")) is not None
        ]


def prompted(areas: dict[str, Area], label: str) -> dict[str, Area]:
    """The same areas with a prompt after its label, in place of the hints."""
    line = areas.get("hints")
    if line is None:
        return areas
    width = min(len(label) + 1, line.width - 1)
    return areas | {"hints": Area(0, line.y, width, 1), "prompt": Area(width, line.y, line.width - width, 1)}
