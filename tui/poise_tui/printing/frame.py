"""A sheet: one frame measured and drawn as text, with header, scopes, picture and readings."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from rich.segment import Segment

from poise.chain.source import resolve_source
from poise.commands.shared.shots import encoding_of
from poise.correction import NEUTRAL
from poise.correction.reading import file_under
from poise.delivery.examine import examine
from poise.delivery.fault import Fault, describe
from poise.delivery.faults import faults_of
from poise.delivery.known_range import known_range
from poise.delivery.limits import Limits
from poise.engine import compile_engine
from poise.errors import FileError, PoiseError, one_line
from poise.frames import Shot, proxy, read
from poise.scopes import Readings, ends, measure, parade, split, vectorscope, waveform
from poise.scopes.signal import Signal
from poise.sidecar import Decision, load_or_none
from poise_tui.draw.capability import Capability
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.panes import figures
from poise_tui.draw.scopes.ends import LEAST, ROWS, with_ends
from poise_tui.draw.scopes.traces import (
    CHANNELS,
    draw_parade,
    draw_vectorscope,
    draw_waveform,
    letters,
    parade_grid,
    vectorscope_grid,
    waveform_grid,
)
from poise_tui.printing.layout import GAP, Line, Panel, flow
from poise_tui.printing.segments import broken, printed, segments, style
from poise_tui.printing.segments import picture as printed_picture

SIDE_BY_SIDE = 72
"""The least columns for waveform and parade in one row."""
SMALLEST_PICTURE = 16


@dataclass(frozen=True)
class Subject:
    """The content of a sheet: a title, display levels (height, width, 1 or 3), 0..1 nominal, and readings.

    Attributes:
        faults: delivery faults.
    """

    title: str
    levels: npt.NDArray[np.float32]
    primaries: str
    readings: Readings
    faults: tuple[Fault, ...] = ()


def subject(shot: Shot, file: Path, corrected: bool = False, limits: Limits | None = None) -> Subject:
    """Reads one file of a shot and measures it at full resolution, in work code.

    Args:
        limits: for delivery faults; None to find none.

    Raises:
        FileError: the picture or the sidecar can't be read, or the correction does not fit the picture.
    """
    sidecar = load_or_none(shot)
    frame = read(file_under(file, sidecar.encoding if sidecar else None))
    encoding = encoding_of(sidecar, frame, file.parent)
    number = shot.number(shot.files.index(file)) if file in shot.files else None
    correction = Decision.of(sidecar).at(number) if corrected else NEUTRAL
    try:
        work = compile_engine(correction, encoding, frame.depth, output="work").apply(frame.colour)
    except FileError:
        raise
    except PoiseError as fault:
        raise FileError(file, str(fault)) from fault
    maximum = None if frame.depth.is_float else frame.depth.maximum
    depth = f"{frame.depth.bits} bit" + (" float" if frame.depth.is_float else "")
    state = (sidecar.state if sidecar else "new") + (", corrected" if corrected else "")
    small = proxy(work).astype(np.float32) / np.float32(maximum or 1)
    title = "  ".join((one_line(file.name), f"{frame.width} x {frame.height}", depth, encoding.source, state))
    readings = measure(work, maximum, encoding.primaries)
    faults: tuple[Fault, ...] = ()
    if limits is not None:
        named = resolve_source(sidecar.encoding, file.parent) if sidecar else None
        known = known_range(file) if named is None else None
        faults = faults_of(file.name, examine(frame, correction, named, limits, known), limits)
    return Subject(title, small, encoding.primaries, readings, faults)


def render(shown: Subject, able: Capability, rows: int) -> str:
    """The sheet as text, with the colour codes that the terminal understands.

    Args:
        rows: of each scope.
    """
    head = shown.title if able.unicode else shown.title.encode("ascii", "backslashreplace").decode()
    lines: list[Line] = [[Segment(head[: able.width], style(Ink.LUMA, able.colours))], []]
    lines += flow(_panels(shown, able, rows), able.width)
    lines += [[]] if shown.faults else []
    for fault in shown.faults:
        kind = "?" if fault.caution else "!"
        lines += broken(f"{kind} {describe(fault)}: {fault.words}", able.width, Ink.WARNING, able)
    return printed(lines, able)


def _panels(shown: Subject, able: Capability, rows: int) -> list[Panel]:
    signal = split(shown.levels, None, shown.primaries)
    wide = (able.width - GAP) // 2 if able.width >= SIDE_BY_SIDE else able.width
    scope = min(rows, able.width // 2)
    left = able.width - 2 * scope - figures.WIDTH - 2 * GAP
    columns = left if left >= SMALLEST_PICTURE else able.width
    picture = printed_picture(shown.levels, columns, scope, able.colours, able.unicode)
    across = max(sum(s.cell_length for s in line) for line in picture)
    text = style(Ink.NONE, able.colours)
    table = [[Segment(line, text)] for line in figures.figures(shown.readings)]
    luma, channels = (
        _scaled(shown, signal, wide, rows, able.unicode),
        _scaled(shown, signal, wide, rows - 1, able.unicode, 3),
    )
    lettered = Cells.blank(rows, channels.shape[1])
    for column, letter, ink in letters(CHANNELS, channels.shape[1]):
        lettered.put(0, column, letter, ink)
    lettered.paste(1, 0, channels)
    vectors = draw_vectorscope(vectorscope(signal, vectorscope_grid(scope, able.unicode)), able.unicode)
    return [
        _panel("waveform", wide, segments(luma, able.colours), able),
        _panel("parade", wide, segments(lettered, able.colours), able),
        _panel("vectors", 2 * scope, segments(vectors, able.colours), able),
        _panel("picture", max(across, 7), picture, able),
        _panel("readings, %", figures.WIDTH, table, able),
    ]


def _scaled(shown: Subject, signal: Signal, columns: int, rows: int, unicode: bool, channels: int = 1) -> Cells:
    """The waveform, or the parade for three channels, between what lies at or beyond its ends."""
    high = rows - ROWS if rows >= LEAST + ROWS else rows
    read: tuple[str, ...] = ("luma",) if channels == 1 else ("red", "green", "blue")
    if channels == 1:
        across, down = waveform_grid(columns, high, unicode)
        cells, planes = draw_waveform(waveform(signal, across, down), unicode), signal.levels[:1]
    else:
        across, down = parade_grid(columns, high, unicode)
        cells, planes = draw_parade(parade(signal, across, down), unicode), signal.levels[1:]
    if high == rows:
        return cells
    shares = [(one.clipped, one.crushed) for one in (getattr(shown.readings, name) for name in read)]
    return with_ends(cells, ends(signal, planes, across), signal.levels.shape[1], shares, unicode)


def _panel(title: str, width: int, lines: list[list[Any]], able: Capability) -> Panel:
    return Panel(width, ([Segment(title[:width], style(Ink.MARK, able.colours))], *lines))
