"""A change of several shots at once, so that undo reverts it on all of them."""

from dataclasses import dataclass, field

from poise.sidecar.decision import Decision


@dataclass
class Step:
    """The decisions about several shots that one key made.

    Attributes:
        after: the decision that each shot was left with, by index; compared by identity, since another change can
            make an equal decision.
        done: the indexes of shots on which it is not undone.
    """

    after: dict[int, Decision]
    done: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.done = set(self.after)
