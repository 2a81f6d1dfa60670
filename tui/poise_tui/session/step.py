"""A step that went to several shots at once, so that undo takes it back on all of them."""

from dataclasses import dataclass, field

from poise.sidecar.decision import Decision


@dataclass
class Step:
    """What was decided about several shots by one key.

    Attributes:
        after: the decision that it left each shot with, by shot; known again by identity, since an equal decision may
            come about otherwise.
        done: the shots on which it was not taken back.
    """

    after: dict[int, Decision]
    done: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.done = set(self.after)
