"""The panes of the desk screen, and what each shows of the present state."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from poise_tui.compare.overlay import NOTHING, Overlay
from poise_tui.desk import Hand, Mode
from poise_tui.desk.matte import place_of
from poise_tui.draw.arrange import GAP, INSTRUMENTS, Area
from poise_tui.draw.cells import Cells
from poise_tui.draw.look import Look
from poise_tui.draw.panes.mattes import draw_mattes
from poise_tui.draw.scopes.ends import LEAST, ROWS
from poise_tui.draw.scopes.plot import plot_bins
from poise_tui.draw.scopes.traces import parade_grid, vectorscope_grid, waveform_grid
from poise_tui.edits.chooser import Listed
from poise_tui.keys.keymap import Keymap
from poise_tui.measure.focus import focus_of
from poise_tui.measure.view import Grids, View
from poise_tui.screens.status import status, switched_off
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import CellView
from poise_tui.widgets.choices import Choices
from poise_tui.widgets.controls import Controls
from poise_tui.widgets.lines import HintLine, StatusLine
from poise_tui.widgets.pane import Pane
from poise_tui.widgets.picture import PictureView
from poise_tui.widgets.readings import ReadingsView
from poise_tui.widgets.reel import ReelView
from poise_tui.widgets.run import RunView
from poise_tui.widgets.scope import Scope
from poise_tui.widgets.shots import ShotList
from poise_tui.workers.coordinator import Coordinator


@dataclass(frozen=True)
class Present:
    """What there is to show.

    Attributes:
        areas: of the panes that have a place now.
    """

    session: Session
    keys: Keymap
    look: Look
    coordinator: Coordinator
    areas: dict[str, Area]
    hints: tuple[tuple[str, str], ...]
    message: str
    warning: bool
    against: Overlay = NOTHING
    listed: Listed | None = None

    def key(self, pane: str) -> str:
        """The key that shows a pane alone; empty where there is none."""
        return self.keys.first(f"view.{pane}") if pane in INSTRUMENTS else ""


@dataclass(frozen=True)
class Middle:
    """The panes of the middle, and those that a mode adds below the list of shots."""

    scopes: dict[str, Scope]
    picture: PictureView
    mattes: Pane
    patch: Pane

    def all(self) -> Iterator[Pane]:
        """Every one, in the order in which they are composed."""
        yield from (*self.scopes.values(), self.picture, self.mattes, self.patch)


Show = Callable[[Middle, Present, View], None]
"""Draws the middle in one mode; panes without a place are left alone."""


class Panes:
    """All panes of the desk screen.

    Args:
        modes: what each mode shows in the middle.
    """

    def __init__(self, modes: Mapping[Mode, Show]) -> None:
        self._modes = modes
        self._shots, self._readings = ShotList("shots"), ReadingsView("readings")
        self._choices = Choices("choices")
        traced = [*(name for name in INSTRUMENTS if name != "picture"), "ranges", "curve"]
        self._middle = Middle(
            {name: Scope(name) for name in traced}, PictureView("picture"), Pane("mattes"), Pane("patch")
        )
        self._reel, self._run, self._controls = ReelView("reel"), RunView("run"), Controls("strip")
        self._shown: tuple[object, ...] = ()
        self._status, self._hints = StatusLine("status"), HintLine("hints")

    def panes(self) -> Iterator[CellView]:
        """Every pane, in the order of composition."""
        yield from (self._shots, self._choices, self._readings, *self._middle.all())
        yield from (self._reel, self._run, self._controls, self._status, self._hints)

    def placed(self, areas: dict[str, Area]) -> list[CellView]:
        """The panes that have a place."""
        return [pane for pane in self.panes() if pane.id in areas]

    @property
    def sent(self) -> int:
        """How many characters all panes have sent so far."""
        return sum(pane.sent for pane in self.panes())

    def show(self, state: Present) -> None:
        """Draws everything that has a place; unchanged cells are not sent again."""
        look, coordinator, viewer = state.look, state.coordinator, state.coordinator.viewer
        exact, loaded = viewer.exact, coordinator.pictures.shown()
        readings = exact.readings if exact else viewer.view.readings if viewer.view else None
        as_decided = viewer.current and coordinator.as_decided(viewer.asked)
        view, every = (viewer.view, exact) if as_decided else (None, None)
        faults = coordinator.delivery.current(view, every, loaded.depth if loaded else None)
        before = switched_off(state.session)
        for pane in (self._readings, self._reel, self._run, *self._middle.all()):
            pane.before = before
        self._shots.show(state.session, look)
        if "reel" in state.areas:
            self._reel.show(state.session, coordinator.survey, look)
        if state.listed is not None:
            self._choices.show(state.listed, look)
        self._controls.show(state.session, state.keys, look, before)
        self._status.show(status(state.session, coordinator, _difference(state)), look)
        self._hints.show(state.hints, state.message, state.warning, look)
        self._readings.show(readings, exact is not None, () if before else faults, look)
        if "run" in state.areas:
            run = coordinator.running
            self._run.show(state.session.slot, run.run, run.fault, state.session.before, look)
        trouble = _trouble(state)
        # areas are where panes belong, sizes what textual has given them so far
        sizes = [pane.size for pane in self.placed(state.areas)]
        session = state.session
        correction, hand = session.slot.decision.correction, session.hand
        decided = correction if hand.mode in ("matte", "curve") else None
        shown = (trouble, before, viewer.view, state.against, exact, look, state.areas, sizes, hand, decided)
        if shown == self._shown:
            return
        self._shown = shown
        if trouble is None and viewer.view is not None and viewer.fits(focus_of(correction, hand)):
            self._modes[hand.mode](self._middle, state, viewer.view)
            return
        self._middle.patch.cells(Cells.blank(0, 0), look)  # it still shows the values of another picture
        place = place_of(correction, hand)
        self._middle.mattes.cells(draw_mattes(correction.mattes, place, (), *self._middle.mattes.room), look)
        text, warning = trouble or ("measuring ...", False)
        for pane in (*self._middle.scopes.values(), self._middle.picture):
            if pane.id in state.areas:
                pane.message(text, state.key(pane.id), look, warning)
                text = ""  # in one pane only


def grids(areas: dict[str, Area], look: Look, hand: Hand) -> Grids:
    """The sizes of the count grids for the instruments that have a place, without their titles and ends."""
    unicode = look.able.unicode
    none = Area(0, 0, 1, 2)
    scaled = [areas[name].height for name in ("waveform", "parade", "histogram") if name in areas]
    high = min(scaled, default=2) - 1
    high -= ROWS if high >= LEAST + ROWS else 0
    columns, rows = waveform_grid(areas.get("waveform", none).width - GAP, high, unicode)
    thirds, _ = parade_grid(areas.get("parade", none).width - GAP, 1, unicode)
    round_ = areas.get("vectorscope", none)
    size = vectorscope_grid(min(round_.height - 1, (round_.width - GAP) // 2), unicode)
    bins = plot_bins(areas["curve"].width - GAP, unicode) if "curve" in areas else 1
    return Grids(columns, thirds, rows, size, bins, hand.shown_scale, hand.gain)


def _trouble(state: Present) -> tuple[str, bool] | None:
    loaded = state.coordinator.pictures.shown()
    if loaded is None:
        return "reading ...", False
    fault = loaded.fault or state.coordinator.viewer.fault
    return (fault, True) if fault else None


def _difference(state: Present) -> str:
    """How far the current shot is from what it is compared with."""
    view = state.coordinator.viewer.view
    found = state.coordinator.comparison.difference(view) if view is not None and state.against.name else None
    return "" if found is None else f"mean parade difference {found:.1f} % from {state.against.name}"
