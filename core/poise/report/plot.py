"""The plot of the reel: black, middle and white of red, green and blue, one column per shot, before above after.

The channels are side by side in each column, and differ in shape as well: red is a bar, green a circle, blue a diamond.
A reel that is too long for one strip continues in the next, so that it can be printed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from poise.scopes import Readings
from poise.scopes.levels import HIGH, LOW
from poise.scopes.reel import BANDS, THRESHOLD, Reel, compared

WIDTH = 1200
LEFT, RIGHT = 34, 30
"""Margins for the figures of the scale, and of the median levels of the reel."""
TALL, HEAD, FOOT = 132, 20, 16
"""Height of a panel, space above it, and below it for the numbers of shots."""
MOST = 100
"""Shots in a strip, at most."""
WIDEST = 120
"""The largest width of a column."""
FIGURES = (100, 75, 50, 25, 0)
CHANNELS = ("red", "green", "blue")


@dataclass(frozen=True)
class Series:
    """One channel in one panel, as path data: stems from black to white, and the marks on them."""

    name: str
    stems: str
    marks: str


@dataclass(frozen=True)
class Panel:
    """One side of a strip.

    Attributes:
        y: the figures of the scale, each with its y.
        middle: the median black, middle and white luma of the reel, each as y and figure.
        outliers: the x of outliers.
        unread: the x of shots that can't be read.
    """

    title: str
    top: float
    y: tuple[tuple[int, float], ...]
    series: tuple[Series, ...]
    middle: tuple[tuple[float, str], ...]
    outliers: tuple[float, ...]
    unread: tuple[float, ...]


@dataclass(frozen=True)
class Column:
    """The column of a shot: its index, left edge and width, and whether it is numbered."""

    place: int
    x: float
    width: float
    numbered: bool


@dataclass(frozen=True)
class Strip:
    """A part of the reel, in a box of WIDTH by `height`."""

    columns: tuple[Column, ...]
    panels: tuple[Panel, ...]
    height: float


def plotted(
    before: Sequence[Readings | None],
    after: Sequence[Readings | None],
    counted: Sequence[bool],
    threshold: float = THRESHOLD,
) -> list[Strip]:
    """Lay out the reel in strips.

    Args:
        before, after: readings of every shot; None for one that can't be read.
        counted: which shots count for the median levels of the reel.
        threshold: the score over which a shot is an outlier.

    Example:
        len(plotted(readings, readings, [True] * 500))  # 5
    """
    sides = [[one if use else None for one, use in zip(side, counted, strict=True)] for side in (before, after)]
    reels = [compared(side, threshold) for side in sides]
    count = len(before)
    each = -(-count // -(-count // MOST)) if count else 0
    pitch = min((WIDTH - LEFT - RIGHT) / max(each, 1), WIDEST)
    strips = []
    for first in range(0, count, max(each, 1)):
        places = range(first, min(first + each, count))
        columns = tuple(_column(place, place - first, pitch) for place in places)
        panels = []
        for number, (title, side, reel) in enumerate(zip(("before", "after"), (before, after), reels, strict=True)):
            panels.append(_panel(title, HEAD + number * (TALL + HEAD + 4), side, reel, columns))
        strips.append(Strip(columns, tuple(panels), panels[-1].top + TALL + FOOT))
    return strips


def _column(place: int, inside: int, pitch: float) -> Column:
    every = next((n for n in (1, 2, 5, 10, 20) if n * pitch >= 26), 50)
    return Column(place, round(LEFT + inside * pitch, 2), round(pitch, 2), inside == 0 or (place + 1) % every == 0)


def _panel(title: str, top: float, side: Sequence[Readings | None], reel: Reel, columns: Sequence[Column]) -> Panel:
    known = [(column, side[column.place]) for column in columns]
    series = tuple(
        _series(name, number, [(column, one) for column, one in known if one is not None], top)
        for number, name in enumerate(CHANNELS)
    )
    levels = [float(level) for level in reel.median[: len(BANDS)]]
    middle = tuple((height(level, top), f"{level:.0f}") for level in levels if isfinite(level))
    outliers = tuple(column.x + column.width / 2 for column in columns if reel.outliers[column.place])
    unread = tuple(column.x + column.width / 2 for column, one in known if one is None)
    scale = tuple((figure, height(figure, top)) for figure in FIGURES)
    return Panel(title, top, scale, series, middle, outliers, unread)


def height(level: float, top: float = 0.0) -> float:
    """The y of a level in per cent, on the scale of the instruments; clipped to its ends.

    Example:
        >>> height(105), height(50), height(-5)
        (0.0, 66.0, 132.0)
    """
    share = (HIGH - level / 100) / (HIGH - LOW)
    return round(top + TALL * min(max(share, 0.0), 1.0), 2)


def _series(name: str, number: int, known: Sequence[tuple[Column, Readings]], top: float) -> Series:
    stems, marks = [], []
    for column, one in known:
        channel = getattr(one, name)
        levels = (channel.black, channel.median, channel.white)
        if not all(map(isfinite, levels)):
            continue
        inside = min(column.width, 56) / 4
        x = round(column.x + column.width / 2 + (number - 1) * inside, 2)
        size = round(min(inside * 0.42, 4.5), 2)
        low, mid, high = (height(level, top) for level in levels)
        stems.append(f"M{x} {low}V{high}")
        marks += [_mark(name, x, y, size) for y in (low, mid, high)]
    return Series(name, "".join(stems), "".join(marks))


def _mark(name: str, x: float, y: float, size: float) -> str:
    """A bar, a circle or a diamond around a point."""
    if name == "red":
        return f"M{x - size:.2f} {y - 1:.2f}h{2 * size:.2f}v2h{-2 * size:.2f}z"
    if name == "green":
        r = 0.8 * size
        return f"M{x - r:.2f} {y}a{r:.2f} {r:.2f} 0 1 0 {2 * r:.2f} 0a{r:.2f} {r:.2f} 0 1 0 {-2 * r:.2f} 0z"
    return f"M{x - size:.2f} {y}l{size:.2f} {-size:.2f}l{size:.2f} {size:.2f}l{-size:.2f} {size:.2f}z"
