"""One shot in a session: its sidecar as it was read, its decisions with their undo, and how its saving stands."""

from dataclasses import dataclass, field
from pathlib import Path

from poise.chain.source import located
from poise.correction import Encoding, History, default_encoding
from poise.errors import SidecarError
from poise.frames import Shot
from poise.sidecar import Sidecar
from poise.sidecar.decision import UNDECIDED, Decision


@dataclass(frozen=True)
class Picture:
    """What is known of a shot's picture once it was read."""

    width: int
    height: int
    linear: bool
    grey: bool


@dataclass
class Slot:
    """One shot in a session.

    Attributes:
        sidecar: as it was last read or saved; None when there is none.
        fault: why the sidecar could not be read or saved.
        conflict: whether somebody else's version stands in the sidecar.
        kept: the decision that was put beside it, so that it is put there once.
        gone: whether none of its files is there any more.
        broken: whether the picture can't be read.
        beyond: whether it has what a delivery may not have, as far as it was measured.
        probed: whether the picture's header was asked, for a picture that was not read.
        changed: when the first change that is not saved yet was made.
        standing_out: numbers of frames that jump or step, as far as its run was looked at.
        frame: the place among the files of the one that is on screen.
    """

    shot: Shot
    loaded: bool = False
    sidecar: Sidecar | None = None
    history: History[Decision] = field(default_factory=lambda: History(UNDECIDED))
    saved: Decision = UNDECIDED
    fault: SidecarError | None = None
    conflict: bool = False
    kept: Decision | None = None
    changed: float | None = None
    saving: bool = False
    picture: Picture | None = None
    gone: bool = False
    broken: bool = False
    beyond: bool = False
    probed: bool = False
    standing_out: tuple[int, ...] = ()
    frame: int = 0

    @property
    def decision(self) -> Decision:
        return self.history.present

    @property
    def default(self) -> Encoding:
        """The encoding of the file's format."""
        return default_encoding(self.picture is not None and self.picture.linear)

    @property
    def encoding(self) -> Encoding:
        return self.decision.encoding or self.default

    @property
    def located(self) -> Encoding:
        """The same with its CLF looked for, where its source is one: what the picture is corrected under."""
        return located(self.encoding, self.shot.first.parent)

    @property
    def unsaved(self) -> bool:
        return self.decision != self.saved

    @property
    def faulty(self) -> bool:
        """Whether something is wrong with the picture or the sidecar."""
        return self.gone or self.broken or self.fault is not None

    @property
    def file(self) -> Path:
        return self.shot.files[self.frame]

    @property
    def title(self) -> str:
        """Its name, and behind it the number of the frame that was pinned to judge it on."""
        pinned = self.decision.judged
        return self.shot.name if pinned is None else f"{self.shot.name} @{pinned}"

    @property
    def judged(self) -> int:
        """The place among the files of the one that the correction is judged on."""
        return self.shot.nearest(self.decision.judged)

    def take(self, found: Sidecar | None) -> bool:
        """Takes over a sidecar that was read, as a step that undo goes back over; whether it says anything new."""
        self.fault, self.conflict = None, False
        if found == self.sidecar:
            return False
        first = self.sidecar is None and not self.history.depth and not self.unsaved
        self.sidecar, self.saved = found, Decision.of(found)
        self.history = History(self.saved) if first else self.history.do(self.saved)
        self.changed = None
        return True
