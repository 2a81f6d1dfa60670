"""A decision: all that a person settles about one shot, as one value that undo can go back to."""

from msgspec import Struct
from msgspec.structs import replace

from poise.correction import NEUTRAL, Correction, Encoding
from poise.sidecar.schema import Sidecar, State

NOT_DELIVERED: tuple[State, ...] = ("held", "skipped")
"""States of shots that are left out: by apply, by delivery checks, and by the statistics of the reel."""


class Decision(Struct, frozen=True):
    """What a sidecar holds that a person decides.

    Attributes:
        encoding: None for the default of the file.
        by_hand: whether a person made the correction; false when it was found automatically.
        judged: the number of the frame of a sequence that it is judged on; None for the first.
    """

    correction: Correction = NEUTRAL
    encoding: Encoding | None = None
    state: State = "new"
    note: str = ""
    by_hand: bool = True
    judged: int | None = None

    @property
    def corrected_by_hand(self) -> bool:
        """Whether a person made the correction, which no starting point may replace unasked."""
        return self.by_hand and self.correction != NEUTRAL

    @property
    def delivered(self) -> bool:
        """Whether the shot is neither held nor skipped, so that it is delivered and counts in the reel."""
        return self.state not in NOT_DELIVERED

    def corrects_as(self, other: "Decision") -> bool:
        """Whether another decision gives the same picture: the same correction, encoding and judged frame."""
        return self is other or (
            self.correction == other.correction and self.encoding == other.encoding and self.judged == other.judged
        )

    @classmethod
    def of(cls, sidecar: Sidecar | None) -> "Decision":
        """The decision in a sidecar; the neutral one where there is none."""
        if sidecar is None:
            return UNDECIDED
        return cls(sidecar.correction, sidecar.encoding, sidecar.state, sidecar.note, sidecar.by_hand, sidecar.judged)

    def into(self, sidecar: Sidecar) -> Sidecar:
        """A sidecar that holds this decision and keeps all else.

        Example:
            >>> Decision(note="fog on the quay").into(Sidecar()).note
            'fog on the quay'
        """
        return replace(
            sidecar,
            correction=self.correction,
            encoding=self.encoding,
            state=self.state,
            note=self.note,
            by_hand=self.by_hand,
            judged=self.judged,
        )


UNDECIDED = Decision()
