"""The patches of a chart as lines of text: how far each is from its published value, before and after."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from poise_tui.draw.cells import Ink

if TYPE_CHECKING:
    from poise.solve.chart import PatchError

HEAD = "CIEDE2000 under D50, uncorrected and under light and balance"


def lines(patches: "Sequence[PatchError]") -> list[list[tuple[str, Ink]]]:
    """A line a patch; a clipped one tells nothing."""
    told = [
        [(f"{patch.name:<18}", Ink.TEXT), (f"{patch.before:8.2f}{patch.after:8.2f}", Ink.TEXT)]
        + ([("  clipped", Ink.WARNING)] if patch.clipped else [])
        for patch in patches
    ]
    return [[(HEAD, Ink.FAINT)], [], *told]
