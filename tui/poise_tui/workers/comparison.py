"""The view of what the current shot is compared with, made in a thread of its own."""

import math
from collections.abc import Callable

from poise_tui.measure.view import View
from poise_tui.workers.thread import Latest
from poise_tui.workers.viewer import Exact, ViewAnswer, Wanted, fine


class Comparison:
    """Makes views of the other picture.

    Args:
        report: called from a thread with each result; pass it to `take` on the thread that answers keys.
    """

    def __init__(self, report: Callable[[ViewAnswer], None]) -> None:
        self.view: View | None = None
        self.fault = ""
        self._asked: Wanted | None = None
        self._views: Latest[Wanted, View | Exact] = Latest("compare", report)
        self._difference: tuple[View, View, float | None] | None = None

    def want(self, wanted: Wanted | None) -> None:
        """Asks for a view, or for none; until it is made, the last one stays if it has the same picture and size."""
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
            self._views.do(wanted, fine)

    def take(self, made: ViewAnswer) -> bool:
        """Takes an answer; returns whether it is still wanted."""
        if made.asked != self._asked:
            return False
        if isinstance(made.found, View):
            self.view = made.found
        else:
            self.view, self.fault = None, str(made.found)
        return True

    def difference(self, view: View) -> float | None:
        """The mean parade difference between a view and the other, in per cent, as match gives it; None without one."""
        if self.view is None or self._asked is None:
            return None
        kept = self._difference
        if kept is None or kept[0] is not view or kept[1] is not self.view:
            primaries = self._asked.encoding.work_primaries
            kept = self._difference = (view, self.view, _difference(view, self.view, primaries))
        return kept[2]

    def end(self) -> None:
        """Stops the thread."""
        self._views.end()


def _difference(one: View, two: View, primaries: str) -> float | None:
    from poise.colour.luma import weights  # not before the first paint
    from poise.solve.distribution import distribution, parade_difference

    found = parade_difference(distribution(one.levels), distribution(two.levels), weights(primaries))
    return found if math.isfinite(found) else None
