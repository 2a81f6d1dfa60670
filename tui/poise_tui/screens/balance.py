"""Balance mode: every instrument that fits, and what the shot is compared with."""

from collections.abc import Callable

from poise.delivery.limits import Limits
from poise.scopes import Instruments
from poise.scopes.waveform import Counts
from poise_tui.desk import SCALES
from poise_tui.draw.arrange import GAP
from poise_tui.draw.cells import Cells
from poise_tui.draw.scopes.ends import ROWS, Shares, with_ends
from poise_tui.draw.scopes.graticule import MARGIN
from poise_tui.draw.scopes.histogram import draw_histogram, marks
from poise_tui.draw.scopes.traces import CHANNELS, Marks, draw_parade, draw_vectorscope, draw_waveform, grain, letters
from poise_tui.draw.scopes.wipe import lay_lines
from poise_tui.measure.view import View
from poise_tui.screens.panes import Middle, Present

LEVELS = ("lowest", "highest", "black-under", "black-over", "white-under", "white-over")
"""The delivery limits that are levels."""


def show(middle: Middle, state: Present, view: View) -> None:
    """Draws the instruments and the picture."""
    scopes(middle, state, view)
    if "picture" in state.areas:
        left, split = state.against.wiped, state.against.split
        title = f"picture, {state.against.name} | {state.against.this}" if left else "picture"
        wiped = (left.levels, split) if left and split is not None else None
        middle.picture.picture(view.levels, state.key("picture"), state.look, title=title, wiped=wiped)


def scopes(middle: Middle, state: Present, view: View) -> None:
    """Draws the instruments that have a place."""
    assert view.scopes is not None
    unicode, against = state.look.able.unicode, state.against
    counted, ghost = against.joined(view.scopes, unicode), against.ghost
    lines, scale = against.lines(counted, unicode), counted.scale
    columns = state.areas["histogram"].width - GAP if "histogram" in state.areas else 0
    over: dict[str, Callable[[], Marks]] = {
        "parade": lambda: letters(CHANNELS, MARGIN + 2 + 3 * counted.parade.shape[2] // grain(unicode).across),
        "histogram": lambda: letters(marks(columns), columns) if len(marks(columns)) > 1 else (),
    }
    viewer, limits = state.coordinator.viewer, levels(state.coordinator.delivery.limits)
    read = viewer.exact.readings if viewer.exact else view.readings
    luma, *colours = ((channel.clipped, channel.crushed) for channel in (read.luma, read.red, read.green, read.blue))
    ends: dict[str, tuple[Counts | None, Shares]] = {
        "waveform": (counted.luma_ends, (luma,)),
        "parade": (counted.colour_ends, colours),
        "histogram": (None, (luma, *colours)[: len(marks(columns))]),
    }
    drawn: dict[str, Callable[[], Cells]] = {
        "waveform": lambda: draw_waveform(counted.waveform, unicode, ghost.waveform if ghost else None, scale, limits),
        "parade": lambda: draw_parade(counted.parade, unicode, ghost.parade if ghost else None, scale, limits),
        "vectorscope": lambda: draw_vectorscope(counted.vectorscope, unicode, gain=counted.gain),
        "histogram": lambda: draw_histogram(counted.histogram, columns, unicode, scale),
    }
    for name, draw in drawn.items():
        if name in state.areas:
            above, cells = over[name]() if name in over else (), draw()
            if name in ends and cells.shape[0] + ROWS < state.areas[name].height:
                counts, shares = ends[name]
                cells = with_ends(cells, counts, counted.pixels, shares, unicode)
            lay_lines(cells, lines.get(name, ()), unicode)
            middle.scopes[name].trace(
                cells, state.key(name), state.look, above, _title(against.title(name) or name, name, counted)
            )


def levels(limits: Limits) -> tuple[float, ...]:
    """The levels in per cent that delivery limits name."""
    found = (limits[name] for name in LEVELS)
    return tuple(limit.value for limit in found if limit is not None)


def _title(title: str, name: str, counted: Instruments) -> str:
    """The title of an instrument, with the part of its scale that it shows."""
    if name == "vectorscope":
        return title if counted.gain == 1 else f"{title} x{counted.gain}"
    part = next((part for part, scale in SCALES if scale == counted.scale and not scale.whole), "")
    return title.replace(name, f"{name} {part}", 1) if part else title
