"""Beside: the view of what the shot in hand is compared with, made in a thread of its own."""

from collections.abc import Callable

from poise_tui.measure.view import View
from poise_tui.workers.thread import Latest
from poise_tui.workers.viewer import Made, Wanted, made

SPARSE = 3
"""Every so many pixels of a sample tell how far two pictures stand apart."""


class Beside:
    """Makes views of the other.

    Args:
        report: called from a thread when one was made; hand it to `take` on the thread that answers keys.
    """

    def __init__(self, report: Callable[[Made], None]) -> None:
        self.view: View | None = None
        self.fault = ""
        self._asked: Wanted | None = None
        self._views = Latest("beside", report)
        self._apart: tuple[View, View, float | None] | None = None

    def want(self, wanted: Wanted | None) -> None:
        """Asks for a view, or for none; what is there stays until it comes, if it is of the same picture and size."""
        if wanted == self._asked:
            return
        there = self._asked
        if wanted is None or there is None or (wanted.loaded, wanted.grids) != (there.loaded, there.grids):
            self.view = None
        self._asked, self.fault = wanted, ""
        if wanted is None:
            self._views.drop()
        elif wanted.loaded.small is None:
            self.fault = wanted.loaded.fault or "can't be read"
        else:
            self._views.do(lambda: made(wanted, fine=True))

    def take(self, found: Made) -> bool:
        """Takes in what was made; whether it is of use."""
        if found.wanted != self._asked:
            return False
        if isinstance(found.result, View):
            self.view = found.result
        else:
            self.view, self.fault = None, str(found.result)
        return True

    def apart(self, view: View) -> float | None:
        """The mean parade difference of a view from this one, in per cent; None where there is none."""
        if self.view is None:
            return None
        if self._apart is None or self._apart[0] is not view or self._apart[1] is not self.view:
            self._apart = (view, self.view, _apart(view, self.view))
        return self._apart[2]

    def end(self) -> None:
        """Stops the thread."""
        self._views.end()


def _apart(one: View, two: View) -> float | None:
    from poise.solve.distribution import apart, distribution, levels  # not before the first paint

    pixels = [distribution(view.levels[::SPARSE, ::SPARSE]).pixels for view in (one, two)]
    return apart(levels(pixels[0]), levels(pixels[1])) if all(map(len, pixels)) else None
