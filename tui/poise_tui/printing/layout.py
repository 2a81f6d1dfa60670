"""Layout: panels side by side as far as the width allows, and then below each other."""

from collections.abc import Iterable
from dataclasses import dataclass

from rich.segment import Segment

GAP = 2
Line = list[Segment]


@dataclass(frozen=True)
class Panel:
    """A block of lines and its width in columns; shorter lines are padded."""

    width: int
    lines: tuple[Line, ...]


def flow(panels: Iterable[Panel], width: int) -> list[Line]:
    """Lays out panels in order, in bands of panels that fit side by side, with a blank line between bands.

    Example:
        >>> pane = Panel(3, ([Segment("abc")],))
        >>> ["".join(s.text for s in line) for line in flow([pane, pane, pane], 8)]
        ['abc  abc', '', 'abc']
    """
    bands: list[list[Panel]] = []
    for panel in panels:
        taken = sum(p.width + GAP for p in bands[-1]) if bands else 0
        if bands and taken + panel.width <= width:
            bands[-1].append(panel)
        else:
            bands.append([panel])
    lines: list[Line] = []
    for band in bands:
        lines += [[]] if lines else []
        lines += _band(band)
    return lines


def _band(band: list[Panel]) -> list[Line]:
    lines: list[Line] = []
    for row in range(max(len(panel.lines) for panel in band)):
        line: Line = []
        for place, panel in enumerate(band):
            part = panel.lines[row] if row < len(panel.lines) else []
            last = place == len(band) - 1
            line += part[:] if last else Segment.adjust_line_length(part, panel.width + GAP)
        lines.append(line)
    return lines
