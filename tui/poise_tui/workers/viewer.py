"""The view on the desk: where it is computed, and how it becomes exact once the keys rest.

A nudge is answered from a sample of the proxy, at once if that is quick enough, else in a thread where only the
newest job counts. When keys rest, the whole proxy is counted, and at last every pixel of the file is read.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from poise.commands.shared.mattes import covered
from poise.correction import Correction, Curves, Encoding, Light
from poise.delivery.limits import Limits, load
from poise.errors import in_words
from poise.scopes import Coverage, Readings
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.view import WHOLE, Focus, Grids, View, view
from poise_tui.workers.loader import Loader
from poise_tui.workers.thread import Answer, Latest, answer

if TYPE_CHECKING:
    from poise.delivery.examine import ExaminedFrame

QUICK = 0.035
"""Seconds that a view can take on the thread that answers keys."""


@dataclass(frozen=True)
class Wanted:
    """Everything that determines a view."""

    loaded: Loaded
    correction: Correction
    encoding: Encoding
    grids: Grids
    focus: Focus = WHOLE

    @property
    def kind(self) -> tuple[object, ...]:
        """What the cost of a view depends on; the first item says whether it may have to import colour-science."""
        correction = self.correction
        lit = correction.light != Light() or self.encoding.converts
        curved = correction.curves != Curves()
        mattes = tuple((matte.on, matte.denoise > 0, matte.blur > 0) for matte in correction.mattes)
        heavy = lit or curved or bool(mattes)
        return (heavy, lit, curved, mattes, self.loaded.depth, self.encoding, self.focus.mode)


@dataclass(frozen=True)
class Exact:
    """Measurements of every pixel of a file.

    Attributes:
        coverage: of the current matte.
    """

    examined: "ExaminedFrame"
    coverage: Coverage | None = None

    @property
    def readings(self) -> Readings:
        return self.examined.readings


ViewAnswer = Answer[Wanted, View | Exact]


class Viewer:
    """Makes views.

    Args:
        loader: for whole frames.
        report: called from a thread with each result; pass it to `take` on the thread that answers keys.

    Attributes:
        limits: the delivery limits, which every pixel is checked against.
        stays: whether a view stays until that of the next picture is made, as while frames are played.
    """

    def __init__(self, loader: Loader, report: Callable[[ViewAnswer], None]) -> None:
        self.view: View | None = None
        self.fault: str | None = None
        self.exact: Exact | None = None
        self.limits: Limits = load()
        self.stays = False
        self._loader = loader
        self._costs: dict[tuple[object, ...], float] = {}
        self.asked: Wanted | None = None
        self._answered: Wanted | None = None
        self._views: Latest[Wanted, View | Exact] = Latest("view", report)
        self._readings: Latest[Wanted, View | Exact] = Latest("readings", report)

    def want(self, wanted: Wanted) -> None:
        """Asks for a view; if it is quick to make, it is ready on return."""
        if wanted == self.asked:
            return
        if self.asked is None or (wanted.loaded is not self.asked.loaded and not self.stays):
            self.view = self.fault = None  # no scopes are better than those of another picture
        self.asked, self.exact = wanted, None
        self._readings.drop()
        if self._slow(wanted):
            self._views.do(wanted, rough)
        else:
            self._views.drop()
            self.take(answer(wanted, rough))

    def refine(self) -> None:
        """Asks for the last view again, from the whole proxy."""
        wanted = self.asked
        if wanted is not None:
            self._views.do(wanted, fine)

    def read_exactly(self) -> None:
        """Asks for readings of every pixel of the last view's file."""
        wanted = self.asked
        if wanted is not None:
            limits = self.limits
            self._readings.do(wanted, lambda asked: exact(asked, self._loader, limits))

    def take(self, made: ViewAnswer) -> bool:
        """Takes an answer; returns whether it is still wanted."""
        found = made.found
        if isinstance(found, View) and found.rough:
            before = self._costs.get(made.asked.kind, QUICK if not self._costs else made.seconds)
            self._costs[made.asked.kind] = min(made.seconds, 1.2 * before)  # one slow view is due to the machine
        if self.asked is None or made.asked.loaded is not self.asked.loaded:
            return False
        current = made.asked == self.asked
        if isinstance(found, Exact):
            if current:
                self.exact = found
            return current
        if isinstance(found, Exception):
            if current:
                self.view, self.fault, self._answered = None, in_words(found), made.asked
            return current
        fits = (made.asked.grids, made.asked.focus) == (self.asked.grids, self.asked.focus)
        if not current and (self._answered == self.asked or not fits):
            return False  # it came too late, or fits no pane
        self.view, self.fault, self._answered = found, None, made.asked
        return True

    def fits(self, focus: Focus) -> bool:
        """Whether the view belongs to a mode; after a change of modes the previous view stays for a moment."""
        return self.view is not None and self._answered is not None and self._answered.focus.mode == focus.mode

    @property
    def current(self) -> bool:
        """Whether the view is the one that was asked for last, not an earlier one that stays until it is made."""
        return self.view is not None and self.answered

    @property
    def answered(self) -> bool:
        """Whether what was asked for last was made, or can't be."""
        return self._answered == self.asked

    @property
    def busy(self) -> bool:
        """Whether a thread is busy."""
        return self._views.busy or self._readings.busy

    def forget(self) -> None:
        """Drops the view and everything about it."""
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


def rough(wanted: Wanted) -> View:
    """A view from the sample of the proxy.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    return view(wanted.loaded, wanted.correction, wanted.encoding, wanted.grids, rough=True, focus=wanted.focus)


def fine(wanted: Wanted) -> View:
    """A view from the whole proxy.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    return view(wanted.loaded, wanted.correction, wanted.encoding, wanted.grids, focus=wanted.focus)


def exact(wanted: Wanted, loader: Loader, limits: Limits) -> Exact:
    """Measurements of every pixel of a view's file.

    Raises:
        PoiseError: the file can't be read, or the correction can't be applied to it.
    """
    from poise.delivery.examine import examine  # not before the first paint

    frame = loader.whole(wanted.loaded.file)
    found = examine(frame, wanted.correction, wanted.encoding, limits)
    place = wanted.focus.matte
    cover = None if place is None else covered(wanted.correction, place, wanted.encoding, frame.colour, frame.depth)
    return Exact(found, cover)
