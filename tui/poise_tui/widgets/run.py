"""The pane with the run of a sequence."""

from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.look import Look
from poise_tui.draw.panes.run import LINES, Marked, draw_run
from poise_tui.measure.sequence import Run
from poise_tui.session.shot_state import ShotState
from poise_tui.widgets.pane import Pane


class RunView(Pane):
    """Shows the levels of a sequence over its frames; for a still, a message."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self._drawn: tuple[object, ...] = ()

    def show(self, slot: ShotState, run: Run | None, fault: str | None, before: bool, look: Look) -> None:
        """Shows the run of a shot; None until it is known."""
        keyframes = tuple(
            n for one in slot.decision.keyframes if run and run.numbers[0] <= (n := one.frame) <= run.numbers[1]
        )
        drawn = (slot.shot.files, slot.frame, slot.judged, keyframes, run, fault, before, self.size, look)
        if drawn == self._drawn:
            return
        self._drawn = drawn
        columns, rows = self.room
        numbers = slot.shot.numbers
        if not numbers or run is None:
            text = fault or ("reading the frames ..." if numbers else "this shot is a still; only a sequence has a run")
            cells = Cells.blank(max(rows - 1, 0), columns)
            cells.write(0, 0, text, Ink.WARNING if fault else Ink.FAINT)
            self.titled("over the frames", "", look.palette.raster(cells), look)
            return
        marked = Marked(*run.numbers, numbers[slot.frame], numbers[slot.judged], run.abrupt, run.broken, keyframes)
        departures = run.drift.departures if run.drift and run.whole else None
        cells = draw_run(run.course, departures, marked, run.words, columns, rows - 1, look.able.unicode, run.without)
        over = tuple((columns - 2 * at - 1, letter, ink) for at, (letter, ink, _) in reversed(list(enumerate(LINES))))
        title = f"over {len(numbers)} frames, % ~"
        self.titled(title, "", look.palette.raster(cells), look, over if columns > len(title) + 10 else ())
