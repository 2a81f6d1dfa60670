"""Viewing: which view is on the desk, where it is computed, and how it becomes exact once the keys rest.

A nudge is answered from a sample of the proxy, at once where that is quick enough, else in a thread where only the
newest counts. When keys rest, the whole proxy is counted, and at last every pixel of the file is read.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from poise.commands.shared.mattes import covered
from poise.commands.shared.shots import readings
from poise.correction import Correction, Curves, Encoding, Light
from poise.errors import in_words
from poise.scopes import Coverage, Readings
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.view import WHOLE, Focus, Grids, View, view
from poise_tui.workers.loader import Loader
from poise_tui.workers.thread import Latest

QUICK = 0.035
"""Seconds that a view may take on the thread that answers keys."""


@dataclass(frozen=True)
class Wanted:
    """All that a view follows from."""

    loaded: Loaded
    correction: Correction
    encoding: Encoding
    grids: Grids
    focus: Focus = WHOLE

    @property
    def kind(self) -> tuple[object, ...]:
        """What the cost of a view depends on; the first says whether it may have to import much."""
        correction = self.correction
        lit = correction.light != Light() or self.encoding.converts
        curved = correction.curves != Curves()
        mattes = tuple((matte.on, matte.denoise > 0, matte.blur > 0) for matte in correction.mattes)
        heavy = lit or curved or bool(mattes)
        return (heavy, lit, curved, mattes, self.loaded.depth, self.encoding, self.focus.mode)


@dataclass(frozen=True)
class Exact:
    """What every pixel of a file says.

    Attributes:
        coverage: of the matte that is looked at.
    """

    readings: Readings
    coverage: Coverage | None = None


@dataclass(frozen=True)
class Made:
    """A view, what the whole file says, or why there is neither.

    Attributes:
        seconds: what it took.
    """

    wanted: Wanted
    fine: bool
    result: View | Exact | Exception
    seconds: float = 0.0


class Viewer:
    """Makes views.

    Args:
        loader: for whole frames.
        report: called from a thread when something was made there; hand it to `take` on the thread that answers keys.
    """

    def __init__(self, loader: Loader, report: Callable[[Made], None]) -> None:
        self.view: View | None = None
        self.fault: str | None = None
        self.exact: Exact | None = None
        self._loader = loader
        self._costs: dict[tuple[object, ...], float] = {}
        self.asked: Wanted | None = None
        self._answered: Wanted | None = None
        self._views = Latest("view", report)
        self._readings = Latest("readings", report)

    def want(self, wanted: Wanted) -> None:
        """Asks for a view; it is there on return if it is quick to make."""
        if wanted == self.asked:
            return
        if self.asked is None or wanted.loaded is not self.asked.loaded:
            self.view = self.fault = None  # rather nothing than the scopes of another picture
        self.asked, self.exact = wanted, None
        self._readings.drop()
        if self._slow(wanted):
            self._views.do(lambda: made(wanted, fine=False))
        else:
            self._views.drop()
            self.take(made(wanted, fine=False))

    def refine(self) -> None:
        """Asks for the last view again, from the whole proxy."""
        wanted = self.asked
        if wanted is not None:
            self._views.do(lambda: made(wanted, fine=True))

    def read_exactly(self) -> None:
        """Asks for readings of every pixel of the last view's file."""
        wanted = self.asked
        if wanted is not None:
            self._readings.do(lambda: _exact(wanted, self._loader))

    def take(self, made: Made) -> bool:
        """Takes in what was made; whether it is of use."""
        if not made.fine:
            before = self._costs.get(made.wanted.kind, QUICK if not self._costs else made.seconds)
            self._costs[made.wanted.kind] = min(made.seconds, 1.2 * before)  # one slow turn is the machine's
        if self.asked is None or made.wanted.loaded is not self.asked.loaded:
            return False
        current = made.wanted == self.asked
        if isinstance(made.result, Exact):
            if current:
                self.exact = made.result
            return current
        if isinstance(made.result, Exception):
            if current:
                self.view, self.fault, self._answered = None, in_words(made.result), made.wanted
            return current
        fits = (made.wanted.grids, made.wanted.focus) == (self.asked.grids, self.asked.focus)
        if not current and (self._answered == self.asked or not fits):
            return False  # it came too late, or fits no pane
        self.view, self.fault, self._answered = made.result, None, made.wanted
        return True

    def fits(self, focus: Focus) -> bool:
        """Whether the view is one of what is looked at; another's stands for a moment after a change of tables."""
        return self.view is not None and self._answered is not None and self._answered.focus.mode == focus.mode

    @property
    def busy(self) -> bool:
        """Whether anything is being made in a thread."""
        return self._views.busy or self._readings.busy

    def forget(self) -> None:
        """Nothing is on the desk."""
        self.view = self.fault = self.exact = self.asked = self._answered = None

    def end(self) -> None:
        """Stops the threads."""
        self._views.end()
        self._readings.end()

    def _slow(self, wanted: Wanted) -> bool:
        cost = self._costs.get(wanted.kind)
        if cost is None:
            # colour-science takes a second to import, and while one thread imports it another would wait for it
            return wanted.kind[0] is True
        return cost > QUICK


def made(wanted: Wanted, fine: bool) -> Made:
    """A view, or why there is none.

    Args:
        fine: from the whole proxy, not from its sample.
    """
    began = time.perf_counter()
    try:
        result: View | Exception = view(
            wanted.loaded, wanted.correction, wanted.encoding, wanted.grids, rough=not fine, focus=wanted.focus
        )
    except Exception as fault:
        result = fault
    return Made(wanted, fine, result, time.perf_counter() - began)


def _exact(wanted: Wanted, loader: Loader) -> Made:
    try:
        frame = loader.whole(wanted.loaded.file)
        found = readings(frame, wanted.encoding, wanted.correction)
        place = wanted.focus.matte
        cover = None if place is None else covered(wanted.correction, place, wanted.encoding, frame.colour, frame.depth)
        return Made(wanted, True, Exact(found, cover))
    except Exception as fault:
        return Made(wanted, True, fault)
