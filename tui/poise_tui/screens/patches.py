"""The patches of a chart as lines of text: the difference of each from its published value, before and after."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from poise_tui.draw.cells import Ink

if TYPE_CHECKING:
    from poise.solve.chart import PatchError

HEAD = "CIEDE2000 under D50, uncorrected, and with light and balance"


def lines(patches: "Sequence[PatchError]") -> list[list[tuple[str, Ink]]]:
    """One line per patch; a clipped patch says so, since its difference means nothing."""
    rows = [
        [(f"{patch.name:<18}", Ink.TEXT), (f"{patch.before:8.2f}{patch.after:8.2f}", Ink.TEXT)]
        + ([("  clipped", Ink.WARNING)] if patch.clipped else [])
        for patch in patches
    ]
    return [[(HEAD, Ink.FAINT)], [], *rows]
