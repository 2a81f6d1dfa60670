"""The arrangement of the screen: the places of panes in each mode, for a terminal of any size."""

from collections.abc import Mapping

from poise_tui.desk import Mode
from poise_tui.draw.arrange.area import ALONE, GAP, INSTRUMENTS, Area, Instrument, Middle
from poise_tui.draw.arrange.balance import balance
from poise_tui.draw.arrange.curve import curve
from poise_tui.draw.arrange.drift import drift
from poise_tui.draw.arrange.matte import matte
from poise_tui.draw.arrange.pick import pick
from poise_tui.draw.arrange.reel import reel

__all__ = ["ALONE", "GAP", "INSTRUMENTS", "Area", "Instrument", "arrange"]

STRIP_ROWS = 4
READING_ROWS, MORE_READING_ROWS = 11, 14
"""The rows of the readings, and with more room for faults where the side is `TALL`."""
TALL = 30
LEAST_LIST = 4
"""The least rows of the list of shots when other panes share its column."""
BESIDE: Mapping[Mode, tuple[str, int]] = {"pick": ("patch", 7), "matte": ("mattes", 14)}
"""The pane that a mode adds below the list of shots, and its rows."""
_MIDDLES: Mapping[Mode, Middle] = {
    "balance": balance,
    "pick": pick,
    "matte": matte,
    "curve": curve,
    "drift": drift,
    "reel": reel,
}


def arrange(width: int, height: int, view: Instrument | None = None, mode: Mode = "balance") -> dict[str, Area]:
    """Panes by name: shots, readings, status, strip, hints and the instruments that fit.

    Args:
        view: one instrument alone; None for all.

    Example:
        >>> sorted(arrange(80, 24))
        ['hints', 'parade', 'readings', 'shots', 'status', 'strip']
    """
    strip = STRIP_ROWS if height >= 16 else max(0, min(2, height - 6))
    foot = min(height, strip + 2)
    top = height - foot
    panes = {"hints": Area(0, height - 1, width, 1)} if height else {}
    if height >= 2:
        panes["status"] = Area(0, top, width, 1)
    if strip:
        panes["strip"] = Area(0, top + 1, width, strip)
    side = min(width, 21 if width < 90 else 27 if width < 150 else 35 if width < 180 else 48)
    if width - side < 25:
        side = width if width < 30 else 0
    if side and top:
        panes |= _side(side, top, mode)
    if top >= 3 and width - side >= 12:
        panes |= _MIDDLES[mode](Area(side, 0, width - side, top), view)
    return panes


def _side(width: int, height: int, mode: Mode) -> dict[str, Area]:
    """The column on the left, from the bottom up: readings, the pane of the mode, and the list of shots."""
    panes, left = {}, height
    name, wanted = BESIDE.get(mode, ("", 0))
    readings = width > 20 and height >= READING_ROWS + LEAST_LIST + (wanted + LEAST_LIST if wanted else 0)
    if readings:
        rows = MORE_READING_ROWS if height >= TALL and not wanted else READING_ROWS
        left -= rows
        panes["readings"] = Area(0, left, width, rows)
    if name and left >= LEAST_LIST:
        rows = min(wanted, left - LEAST_LIST) if left >= 2 * LEAST_LIST else left
        left -= rows
        panes[name] = Area(0, left, width, rows)
    if left:
        panes["shots"] = Area(0, 0, width, left)
    return panes
