"""The faces of the balance screen: every pane, and what each shows of the present state."""

from collections.abc import Iterator
from dataclasses import dataclass

from poise_tui.crew import Crew
from poise_tui.draw.arrange import GAP, INSTRUMENTS, Area
from poise_tui.draw.bars import draw_histogram, marks
from poise_tui.draw.graticule import MARGIN
from poise_tui.draw.look import Look
from poise_tui.draw.status import Status
from poise_tui.draw.traces import (
    CHANNELS,
    draw_parade,
    draw_vectorscope,
    draw_waveform,
    grain,
    letters,
    parade_grid,
    vectorscope_grid,
    waveform_grid,
)
from poise_tui.keymap import Keymap
from poise_tui.session import Session
from poise_tui.view import Grids, View
from poise_tui.widgets.cellview import CellView
from poise_tui.widgets.controls import Controls
from poise_tui.widgets.lines import HintLine, StatusLine
from poise_tui.widgets.picture import PictureView
from poise_tui.widgets.readings import ReadingsView
from poise_tui.widgets.scope import Scope
from poise_tui.widgets.shots import ShotList


class Faces:
    """All panes of a screen."""

    @dataclass(frozen=True)
    class State:
        """What there is to show.

        Attributes:
            areas: of the panes that have a place now.
        """

        session: Session
        keys: Keymap
        look: Look
        crew: Crew
        areas: dict[str, Area]
        hints: tuple[tuple[str, str], ...]
        message: str
        warning: bool

    def __init__(self) -> None:
        self._shots, self._readings = ShotList("shots"), ReadingsView("readings")
        self._scopes = {name: Scope(name) for name in INSTRUMENTS if name != "picture"}
        self._picture = PictureView("picture")
        self._controls = Controls("strip")
        self._shown: tuple[object, ...] = ()
        self._status, self._hints = StatusLine("status"), HintLine("hints")

    def panes(self) -> Iterator[CellView]:
        """Every pane, in the order in which they are composed."""
        yield from (self._shots, self._readings, *self._scopes.values(), self._picture)
        yield from (self._controls, self._status, self._hints)

    def placed(self, areas: dict[str, Area]) -> list[CellView]:
        """Those panes that have a place."""
        return [pane for pane in self.panes() if pane.id in areas]

    @property
    def sent(self) -> int:
        """Characters that all panes have sent so far."""
        return sum(pane.sent for pane in self.panes())

    def show(self, state: State) -> None:
        """Draw everything that has a place; what looks the same is not sent again."""
        look, crew, viewer = state.look, state.crew, state.crew.viewer
        self._shots.show(state.session, crew.levels, crew.broken, look)
        self._controls.show(state.session, state.keys, look)
        self._status.show(_status(state), look)
        self._hints.show(state.hints, state.message, state.warning, look)
        readings = viewer.exact or (viewer.view.readings if viewer.view else None)
        self._readings.show(readings, viewer.exact is not None, look)
        told = _trouble(state)
        # areas say where panes belong, sizes whether textual has put them there yet
        sizes = [pane.size for pane in self.placed(state.areas)]
        shown = (told, viewer.view, look, state.areas, sizes)
        if shown == self._shown:
            return
        self._shown = shown
        if told is not None or viewer.view is None:
            text, warning = told or ("measuring ...", False)
            for pane in (*self._scopes.values(), self._picture):
                if pane.id in state.areas:
                    pane.message(text, state.keys.first(f"view.{pane.id}"), look, warning)
                    text = ""  # once is enough
            return
        self._traces(viewer.view, state)

    def _traces(self, view: View, state: State) -> None:
        look, unicode = state.look, state.look.able.unicode
        columns = state.areas["histogram"].width - GAP if "histogram" in state.areas else 0
        over = {
            "parade": lambda: letters(CHANNELS, MARGIN + 2 + 3 * view.scopes.parade.shape[2] // grain(unicode).across),
            "histogram": lambda: letters(marks(columns), columns) if len(marks(columns)) > 1 else (),
        }
        drawn = {
            "waveform": lambda: draw_waveform(view.scopes.waveform, unicode),
            "parade": lambda: draw_parade(view.scopes.parade, unicode),
            "vectorscope": lambda: draw_vectorscope(view.scopes.vectorscope, unicode),
            "histogram": lambda: draw_histogram(view.scopes.histogram, columns, unicode),
        }
        for name, scope in self._scopes.items():
            if name in state.areas:
                above = over[name]() if name in over else ()
                scope.trace(drawn[name](), state.keys.first(f"view.{name}"), look, above)
        if "picture" in state.areas:
            self._picture.picture(view.levels, state.keys.first("view.picture"), look)


def grids(areas: dict[str, Area], look: Look) -> Grids:
    """What has to be counted for the instruments that have a place; one row of each pane is its title."""
    unicode = look.able.unicode
    none = Area(0, 0, 1, 2)
    scaled = [areas[name].height for name in ("waveform", "parade", "histogram") if name in areas]
    columns, rows = waveform_grid(areas.get("waveform", none).width - GAP, min(scaled, default=2) - 1, unicode)
    thirds, _ = parade_grid(areas.get("parade", none).width - GAP, 1, unicode)
    round_ = areas.get("vectorscope", none)
    return Grids(columns, thirds, rows, vectorscope_grid(min(round_.height - 1, (round_.width - GAP) // 2), unicode))


def _trouble(state: "Faces.State") -> tuple[str, bool] | None:
    loaded = state.crew.picture()
    if loaded is None:
        return "reading ...", False
    fault = loaded.fault or state.crew.viewer.fault
    return (fault, True) if fault else None


def _status(state: "Faces.State") -> Status:
    session = state.session
    slot, hand = session.slot, session.hand
    waiting = len(session.unsaved)
    faults = [s for i in session.unsaved if (s := session.slots[i]).fault]
    if faults:
        left = faults[0].shot.name if len(faults) == 1 else f"{len(faults)} shots"
        save, safe = f"NOT SAVED: {left}" + ("" if faults[0].conflict else ", trying again"), False
    else:
        save, safe = ("saving" if waiting else "saved" if slot.sidecar else "unchanged"), True
    numbers = slot.shot.numbers
    return Status(
        bank=hand.bank,
        zone=hand.zone.value,
        step=hand.step,
        source=slot.encoding.source,
        delivery=slot.encoding.delivery,
        undo=slot.history.depth,
        redo=slot.history.ahead,
        save=save,
        safe=safe,
        before=session.before,
        frame=f"frame {numbers[slot.frame]} of {numbers[0]}-{numbers[-1]}" if numbers else "",
        state=slot.decision.state,
        marked=len(session.marked),
        about=_about(state),
    )


def _about(state: "Faces.State") -> str:
    loaded = state.crew.picture()
    name = state.session.slot.file.name
    if loaded is None or loaded.small is None:
        return name
    depth = f"{loaded.depth.bits} bit" + (" float" if loaded.depth.is_float else "")
    return f"{name} {loaded.width} x {loaded.height} {depth}"
