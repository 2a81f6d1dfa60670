"""What auto reports of each shot of a group: how sure it was, and why it held back."""

from dataclasses import dataclass

from poise.sidecar.decision import SURE

HELD_BACK = ("left alone", "is corrected", "held at", "is subtracted")
"""Parts of the notes of auto that say that it did less than it measured."""
NOTHING_TO_DO = ("neutrals are level", "black and white are where they should be")
"""Beginnings of notes that say that nothing had to be done."""


@dataclass(frozen=True)
class AutoOutcome:
    """One shot.

    Attributes:
        certainty: the probability that auto found the light; None if it sought none.
        notes: of auto, or why it left the shot as it was.
        left: whether it left the shot as it was.
    """

    name: str
    certainty: float | None
    notes: tuple[str, ...]
    left: bool = False

    @property
    def unsure(self) -> bool:
        return self.certainty is not None and self.certainty < SURE

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why it held back, or left the shot as it was; empty if it did neither."""
        if self.left:
            return self.notes
        return tuple(
            one for one in self.notes if not one.startswith(NOTHING_TO_DO) and any(part in one for part in HELD_BACK)
        )


def summary(outcomes: tuple[AutoOutcome, ...]) -> str:
    """How many shots have to be looked at, and where to read why; empty if none has.

    Example:
        >>> summary((AutoOutcome("quay.png", 0.4, ()), AutoOutcome("ferry.png", 0.9, ())))
        '1 under 50 %; see :unsure'
    """
    unsure = sum(one.unsure for one in outcomes)
    held = sum(bool(one.reasons) and not one.left for one in outcomes)
    counted = [f"{unsure} under {100 * SURE:.0f} %"] * bool(unsure) + [f"{held} held back"] * bool(held)
    if not counted and not any(one.left for one in outcomes):
        return ""
    return "; ".join((*[", ".join(counted)] * bool(counted), "see :unsure"))


def listed(outcomes: tuple[AutoOutcome, ...]) -> list[tuple[str, str]]:
    """The shots to look at, the least certain first: name with certainty, and reasons."""
    wanted = [one for one in outcomes if one.unsure or one.reasons]
    wanted.sort(key=lambda one: 2 if one.certainty is None else one.certainty)
    sure = [" -  " if one.certainty is None else f"{100 * one.certainty:2.0f} %" for one in wanted]
    return [
        (f"{certainty}  {one.name}", "; ".join(one.reasons or one.notes[:1]))
        for certainty, one in zip(sure, wanted, strict=True)
    ]
