"""Undo and redo of one shot's corrections, without limit, as an immutable value."""

from dataclasses import dataclass, replace

from poise.correction.model import NEUTRAL, Correction


@dataclass(frozen=True)
class History:
    """A line of corrections with a present.

    Example:
        >>> from poise.correction import Correction
        >>> bright = Correction(saturation=1.1)
        >>> History().do(bright).undo().redo().present == bright
        True
    """

    present: Correction = NEUTRAL
    past: tuple[Correction, ...] = ()
    future: tuple[Correction, ...] = ()

    def do(self, correction: Correction) -> "History":
        """A new present; what had been undone is given up. The same correction again adds no step."""
        if correction == self.present:
            return self
        return History(correction, (*self.past, self.present))

    def undo(self) -> "History":
        """One step back; the same history at the start."""
        if not self.past:
            return self
        return replace(self, present=self.past[-1], past=self.past[:-1], future=(self.present, *self.future))

    def redo(self) -> "History":
        """One step forward again; the same history at the end."""
        if not self.future:
            return self
        return replace(self, present=self.future[0], past=(*self.past, self.present), future=self.future[1:])
