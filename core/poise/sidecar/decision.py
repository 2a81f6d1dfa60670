"""A decision: all that a person settles about one shot, as one value that undo can go back to."""

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from poise.correction import NEUTRAL, Correction, Encoding, Keyframe, correction_at
from poise.correction.steady import Steady, steadied
from poise.errors import PoiseError
from poise.sidecar.schema import Sidecar, State, Version

NOT_DELIVERED: tuple[State, ...] = ("held", "skipped")
"""States of shots that are left out: by apply, by delivery checks, and by the statistics of the reel."""


SURE = 0.5
"""The certainty under which a starting point of auto has to be looked at first."""


class Decision(Struct, frozen=True):
    """What a sidecar holds that a person decides.

    Attributes:
        correction: of all frames, unless there are keyframes.
        encoding: None for the default of the file.
        by_hand: whether a person made the correction; false when it was found automatically.
        judged: the number of the frame of a sequence that it is judged on; None for the first.
        versions: states of the correction that were kept, by name.
        certainty: the probability, by auto's estimate, that it found the light; None without a starting point of auto.
        keyframes: the corrections of a sequence at some of its frames, in rising order.
        steady: gains in light for each frame of a sequence; None without.
    """

    correction: Correction = NEUTRAL
    encoding: Encoding | None = None
    state: State = "new"
    note: str = ""
    by_hand: bool = True
    judged: int | None = None
    versions: Mapping[str, Version] = {}
    certainty: float | None = None
    keyframes: tuple[Keyframe, ...] = ()
    steady: Steady | None = None

    def decided(self, frame: int | None) -> Correction:
        """The correction that was decided for one frame, by its number; None for a still."""
        return correction_at(self.correction, self.keyframes, frame)

    def at(self, frame: int | None) -> Correction:
        """The correction that `apply` carries out on one frame: what was decided, with its steady values.

        Args:
            frame: its number; None for a still.
        """
        return steadied(self.decided(frame), self.steady, frame)

    @property
    def corrected_by_hand(self) -> bool:
        """Whether a person made the correction, which no starting point may replace unasked."""
        return self.by_hand and (self.correction != NEUTRAL or bool(self.keyframes))

    @property
    def unsure(self) -> bool:
        """Whether auto was less than `SURE` of the light of its starting point."""
        return self.certainty is not None and self.certainty < SURE

    @property
    def delivered(self) -> bool:
        """Whether the shot is neither held nor skipped, so that it is delivered and counts in the reel."""
        return self.state not in NOT_DELIVERED

    def corrects_as(self, other: "Decision") -> bool:
        """Whether another decision gives the same picture: the same corrections, encoding and judged frame."""
        return self is other or (
            self.keyframes == other.keyframes
            and (bool(self.keyframes) or self.correction == other.correction)
            and self.steady == other.steady
            and self.encoding == other.encoding
            and self.judged == other.judged
        )

    @classmethod
    def of(cls, sidecar: Sidecar | None) -> "Decision":
        """The decision in a sidecar; the neutral one where there is none."""
        if sidecar is None:
            return UNDECIDED
        return cls(**{name: getattr(sidecar, name) for name in cls.__struct_fields__})

    def under(self, version: str) -> "Decision":
        """The decision with one of its versions as the correction; itself for an empty name.

        Raises:
            PoiseError: it has no such version.

        Example:
            >>> Decision(versions={"cooler": Version(Correction(saturation=1.1))}).under("cooler").correction.saturation
            1.1
        """
        if not version:
            return self
        if version not in self.versions:
            raise PoiseError(no_version(version, self.versions))
        kept = self.versions[version]
        return replace(self, correction=kept.correction, keyframes=kept.keyframes)

    def into(self, sidecar: Sidecar) -> Sidecar:
        """A sidecar that holds this decision and keeps all else.

        Example:
            >>> Decision(note="fog on the quay").into(Sidecar()).note
            'fog on the quay'
        """
        return replace(
            sidecar,
            correction=self.correction,
            keyframes=self.keyframes,
            steady=self.steady,
            encoding=self.encoding,
            state=self.state,
            note=self.note,
            by_hand=self.by_hand,
            judged=self.judged,
            versions=dict(self.versions),
            certainty=self.certainty,
        )


def no_version(name: str, versions: Mapping[str, Version]) -> str:
    """A message that a shot has no version of a name, and those that it has.

    Example:
        >>> no_version("cooler", {})
        "it has no version 'cooler', nor any other"
    """
    there = f"; it has {', '.join(versions)}" if versions else ", nor any other"
    return f"it has no version {name!r}{there}"


UNDECIDED = Decision()
