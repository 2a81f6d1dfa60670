"""What the current shot is compared with, as the instruments show it: a ghost, or the other side of a wipe."""

from dataclasses import dataclass, replace

from poise.scopes import Instruments
from poise_tui.draw.scopes.graticule import MARGIN
from poise_tui.draw.scopes.traces import grain
from poise_tui.draw.scopes.wipe import joined, split_at
from poise_tui.measure.view import View


@dataclass(frozen=True)
class Overlay:
    """What the current shot is compared with; nothing by default.

    Attributes:
        split: the position of the wipe, as a share of the picture's width; None for a ghost.
        view: None while it is made, and if there is a fault.
        this: the name of the other side of the wipe.
    """

    name: str = ""
    split: float | None = None
    view: View | None = None
    fault: str = ""
    this: str = "this"

    @property
    def ghost(self) -> Instruments | None:
        """The traces drawn behind those of the shot."""
        return self.view.scopes if self.view is not None and self.split is None else None

    @property
    def wiped(self) -> View | None:
        """The view left of the wipe; None without a wipe."""
        return self.view if self.split is not None else None

    def joined(self, counted: Instruments, unicode: bool) -> Instruments:
        """Waveform and parade with the other picture's counts left of the wipe."""
        there = self.wiped.scopes if self.wiped is not None else None
        if there is None or self.split is None:
            return counted
        across = grain(unicode).across
        return replace(
            counted,
            waveform=joined(there.waveform, counted.waveform, self.split, across),
            parade=joined(there.parade, counted.parade, self.split, across),
            luma_ends=joined(there.luma_ends, counted.luma_ends, self.split, across),
            colour_ends=joined(there.colour_ends, counted.colour_ends, self.split, across),
        )

    def lines(self, counted: Instruments, unicode: bool) -> dict[str, tuple[int, ...]]:
        """The columns of cells at which the wipe is drawn, by instrument."""
        if self.split is None or self.view is None:
            return {}
        across = grain(unicode).across
        whole, each = counted.waveform.shape[1] // across, counted.parade.shape[2] // across
        return {
            "waveform": (MARGIN + split_at(self.split, whole),),
            "parade": tuple(MARGIN + place * (each + 1) + split_at(self.split, each) for place in range(3)),
        }

    def title(self, name: str) -> str:
        """The title of an instrument that compares; empty if it does not."""
        if not self.name or name not in ("waveform", "parade"):
            return ""
        if self.fault:
            return f"{name}, {self.name}: {self.fault}"
        return f"{name}, ghost {self.name}" if self.split is None else f"{name}, {self.name} | {self.this}"


NOTHING = Overlay()
"""No comparison."""


def same_sizes(one: View | None, other: View | None) -> bool:
    """Whether two views have count grids of the same sizes; while panes are resized, one can be ahead."""
    if one is None or other is None or one.scopes is None or other.scopes is None:
        return False
    if one.scopes.scale != other.scopes.scale:
        return False
    return all(getattr(one.scopes, n).shape == getattr(other.scopes, n).shape for n in ("waveform", "parade"))
