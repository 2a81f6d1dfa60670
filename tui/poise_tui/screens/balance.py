"""Balance mode: every instrument that fits, and what the shot is compared with."""

from collections.abc import Callable

from poise_tui.draw.arrange import GAP
from poise_tui.draw.cells import Cells
from poise_tui.draw.scopes.graticule import MARGIN
from poise_tui.draw.scopes.histogram import draw_histogram, marks
from poise_tui.draw.scopes.traces import CHANNELS, Marks, draw_parade, draw_vectorscope, draw_waveform, grain, letters
from poise_tui.draw.scopes.wipe import lay_lines
from poise_tui.measure.view import View
from poise_tui.screens.panes import Middle, Present


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
    lines = against.lines(counted, unicode)
    columns = state.areas["histogram"].width - GAP if "histogram" in state.areas else 0
    over: dict[str, Callable[[], Marks]] = {
        "parade": lambda: letters(CHANNELS, MARGIN + 2 + 3 * counted.parade.shape[2] // grain(unicode).across),
        "histogram": lambda: letters(marks(columns), columns) if len(marks(columns)) > 1 else (),
    }
    drawn: dict[str, Callable[[], Cells]] = {
        "waveform": lambda: draw_waveform(counted.waveform, unicode, ghost.waveform if ghost else None),
        "parade": lambda: draw_parade(counted.parade, unicode, ghost.parade if ghost else None),
        "vectorscope": lambda: draw_vectorscope(counted.vectorscope, unicode),
        "histogram": lambda: draw_histogram(counted.histogram, columns, unicode),
    }
    for name, draw in drawn.items():
        if name in state.areas:
            above, cells = over[name]() if name in over else (), draw()
            lay_lines(cells, lines.get(name, ()), unicode)
            middle.scopes[name].trace(cells, state.key(name), state.look, above, against.title(name))
