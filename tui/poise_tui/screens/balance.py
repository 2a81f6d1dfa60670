"""The balance table: every instrument there is room for."""

from collections.abc import Callable

from poise_tui.draw.arrange import GAP
from poise_tui.draw.bars import draw_histogram, marks
from poise_tui.draw.cells import Cells
from poise_tui.draw.graticule import MARGIN
from poise_tui.draw.traces import CHANNELS, Marks, draw_parade, draw_vectorscope, draw_waveform, grain, letters
from poise_tui.screens.faces import Middle, Present
from poise_tui.view import View


def show(middle: Middle, state: Present, view: View) -> None:
    """Draws the instruments and the picture."""
    scopes(middle, state, view)
    if "picture" in state.areas:
        middle.picture.picture(view.levels, state.key("picture"), state.look)


def scopes(middle: Middle, state: Present, view: View) -> None:
    """Draws those instruments that have a place."""
    assert view.scopes is not None
    counted, unicode = view.scopes, state.look.able.unicode
    columns = state.areas["histogram"].width - GAP if "histogram" in state.areas else 0
    over: dict[str, Callable[[], Marks]] = {
        "parade": lambda: letters(CHANNELS, MARGIN + 2 + 3 * counted.parade.shape[2] // grain(unicode).across),
        "histogram": lambda: letters(marks(columns), columns) if len(marks(columns)) > 1 else (),
    }
    drawn: dict[str, Callable[[], Cells]] = {
        "waveform": lambda: draw_waveform(counted.waveform, unicode),
        "parade": lambda: draw_parade(counted.parade, unicode),
        "vectorscope": lambda: draw_vectorscope(counted.vectorscope, unicode),
        "histogram": lambda: draw_histogram(counted.histogram, columns, unicode),
    }
    for name, draw in drawn.items():
        if name in state.areas:
            above = over[name]() if name in over else ()
            middle.scopes[name].trace(draw(), state.key(name), state.look, above)
