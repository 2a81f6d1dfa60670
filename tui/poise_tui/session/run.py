"""A run: presses of one column that follow each other, which undo takes back together."""

from dataclasses import dataclass, field

from poise.correction import History
from poise.sidecar.decision import Decision
from poise_tui.session.step import Step

TOGETHER = 1.0
"""Seconds within which one press follows another in the same run."""


@dataclass
class Run:
    """A run, on every shot that it moved.

    Attributes:
        column: what is pressed.
        at: when it was last pressed, by the session's clock.
        began: the history of each shot before the run, by index.
        left: and after its last press, by which a change made by anything else is noticed.
        after: the decisions that it left.
        step: the change of several shots at once that it is; None for one shot.
    """

    column: object
    at: float
    began: dict[int, History[Decision]] = field(default_factory=dict)
    left: dict[int, History[Decision]] = field(default_factory=dict)
    after: dict[int, Decision] = field(default_factory=dict)
    step: Step | None = None

    def base(self, index: int, history: History[Decision]) -> History[Decision]:
        """The history that the next press goes on from: that before the run, unless something else changed the shot."""
        if self.left.get(index) is not history:
            self.began[index] = history
        return self.began[index]

    def moved(self, index: int, history: History[Decision]) -> None:
        """Notes what a press left."""
        self.left[index] = history
        if history is self.began[index]:
            self.after.pop(index, None)
        else:
            self.after[index] = history.present
