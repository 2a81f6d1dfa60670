"""The reel printed once: every shot side by side, before and after its correction, and the outliers."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from rich.segment import Segment

from poise.commands.shared.shots import Found
from poise.errors import FileError, one_line
from poise.frames import proxy, read
from poise.scopes import reel
from poise.scopes.reel import FIGURES, THRESHOLD
from poise.sidecar.decision import Decision
from poise_tui.draw.capability import Capability
from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.columns import columns
from poise_tui.draw.panes.reel import draw_reel, room
from poise_tui.measure.loaded import HEIGHT, WIDTH, loaded
from poise_tui.measure.sample import Known, sample
from poise_tui.printing.layout import Line
from poise_tui.printing.segments import broken, printed, segments, style

AT_ONCE = 2
"""Pictures that are read in parallel."""
LEGEND = "red, green, blue of each shot at black, middle, white; bright after, faint before; ! outlier, x unread"


@dataclass(frozen=True)
class Column:
    """A shot of the reel: its measurements, or None and the fault if it can't be read."""

    name: str
    known: Known | None
    fault: FileError | None = None


def looked_at(shots: Sequence[Found]) -> Iterator[Column]:
    """Measures shots in order; keeps only a sample of each."""
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for first in range(0, len(shots), 4 * AT_ONCE):  # some at a time, so that Ctrl-C takes effect soon
            yield from pool.map(_column, shots[first : first + 4 * AT_ONCE])


def _column(one: Found) -> Column:
    try:
        frame = read(one.file)
    except FileError as fault:
        return Column(one.shot.name, None, fault)
    made = sample(loaded(one.file, None, frame, proxy(frame.colour, WIDTH, HEIGHT)))
    known = Known(made).under(Decision.of(one.sidecar))
    return Column(one.shot.name, known, FileError(one.file, known.fault) if known.fault else None)


def render_reel(
    shots: Sequence[Column], left: Sequence[bool], able: Capability, rows: int, threshold: float = THRESHOLD
) -> str:
    """The reel as text, with the colour codes that the terminal understands.

    Args:
        left: which shots don't count, because they are held or skipped.
        threshold: the score over which a shot is an outlier.
        rows: of the drawing.
    """
    unknown = np.full((2, len(FIGURES)), np.nan)
    figures = np.array([one.known.rows if one.known else unknown for one in shots]).swapaxes(0, 1)
    found = reel(np.where(np.array(left, bool)[:, None], np.nan, figures[1]), threshold)
    count, wide = room(able.width, len(shots))
    each = -(-len(shots) // count)
    faults = np.array([one.fault is not None for one in shots])
    listed = np.arange(len(shots))
    drawn = columns(listed, figures[1], figures[0], found.median, found.outliers, faults, 0, each, count)
    outliers = int(found.outliers.sum())
    head = f"reel ~ {len(shots)} shot{'s' * (len(shots) != 1)}"
    head += (f", {each} per column" if each > 1 else "") + f", {outliers} outlier{'s' * (outliers != 1)}"
    lines: list[Line] = [[Segment(head[: able.width], style(Ink.TITLE, able.colours))]]
    lines += segments(draw_reel(drawn, wide, rows, able.unicode), able.colours)
    lines += broken(LEGEND, able.width, Ink.FAINT, able)
    for index in np.flatnonzero(found.outliers).tolist():
        reasons = found.reasons(index)
        more = f"; and {len(reasons) - 1} more" if len(reasons) > 1 else ""
        text = f"! {index + 1} {one_line(shots[index].name)}: {reasons[0]}{more}"
        lines += broken(text, able.width, Ink.WARNING, able)
    return printed(lines, able)
