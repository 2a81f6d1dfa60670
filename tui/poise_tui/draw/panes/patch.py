"""The values of a patch: its mean in red, green and blue, and their spread."""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise_tui.draw.cells import Cells, Ink

Figure = tuple[str, str, bool]
"""A label, a value, and whether it is a warning."""

INKS = {"red": Ink.RED, "green": Ink.GREEN, "blue": Ink.BLUE}


def figures(mean: npt.NDArray[Any]) -> tuple[Figure, ...]:
    """The values of a colour, (1 or 3,) 0..1 nominal, in per cent of full signal.

    Example:
        >>> figures(np.array([0.5, 0.52, 0.49]))[3]
        ('rgb spread', '3.0 %', False)
    """
    if len(mean) == 1:
        return (("luma", f"{100 * mean[0]:.1f} %", False),)
    spread = 100 * float(np.ptp(mean))
    named = zip(("red", "green", "blue"), mean.tolist(), strict=True)
    return (*((name, f"{100 * value:.1f} %", False) for name, value in named), ("rgb spread", f"{spread:.1f} %", False))


def draw_patch(levels: npt.NDArray[Any], share: float, columns: int, rows: int) -> Cells:
    """The pane of the patch under the cursor.

    Args:
        levels: (rows, columns, 1 or 3) 0..1 nominal; non-finite pixels are left out.
        share: the patch's side, as a share of picture height.
    """
    cells = Cells.blank(rows, columns)
    cells.write(0, 0, f"patch, {100 * share:g} % of height", Ink.TITLE)
    flat = levels.reshape(-1, levels.shape[-1])
    flat = flat[np.isfinite(flat).all(axis=1)]
    if not len(flat):
        cells.write(1, 0, "no valid pixels", Ink.WARNING)
        return cells
    for row, (label, value, _) in enumerate(figures(flat.mean(axis=0)), 1):
        cells.write(row, 0, label, INKS.get(label, Ink.FAINT))
        cells.write(row, max(columns - len(value), 0), value, Ink.TEXT)
    return cells
