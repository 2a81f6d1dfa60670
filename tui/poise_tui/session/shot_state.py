"""One shot in a session: its sidecar as last read, its decisions with undo, and the state of its saving."""

from dataclasses import dataclass, field
from pathlib import Path

from msgspec.structs import replace

from poise.chain.source import resolve_source
from poise.correction import Encoding, History, default_encoding
from poise.correction.reading import shot_under
from poise.errors import PoiseError, SidecarError
from poise.frames import Shot
from poise.frames.clip_frame import ClipFrame
from poise.frames.tags import Tags
from poise.sidecar import Sidecar
from poise.sidecar.decision import UNDECIDED, Decision
from poise.stamp import Stamp


class StillReading(PoiseError):
    """Something that an action needs is still being read."""


@dataclass(frozen=True)
class Picture:
    """What is known of a shot's picture once it or its header was read."""

    width: int
    height: int
    linear: bool
    grey: bool
    tags: Tags | None = None


@dataclass
class ShotState:
    """One shot in a session.

    Attributes:
        loaded: whether the sidecar was read; until then nothing can be decided about the shot.
        sidecar: as last read or saved; None if there is none.
        stamp: of the sidecar at that time.
        fault: why the sidecar can't be read or saved.
        conflict: whether the sidecar on disk is somebody else's version.
        kept: the decision that was saved in a conflict copy, so that each is copied only once.
        gone: whether all its files are gone.
        broken: whether the picture can't be read.
        beyond: whether it has delivery faults, as far as it was measured.
        probed: whether the picture's header was read, for a picture that was not.
        changed: when the first unsaved change was made.
        abrupt: numbers of frames that jump or step, as far as the run was measured.
        scanned: the shot as it was found.
        frame: the index of the file on screen.
    """

    scanned: Shot
    loaded: bool = False
    sidecar: Sidecar | None = None
    stamp: Stamp | None = None
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
    abrupt: tuple[int, ...] = ()
    frame: int = 0

    _seen: tuple[Decision, int, Decision] | None = None
    _read: tuple[Shot, Encoding, Shot] | None = None

    @property
    def shot(self) -> Shot:
        """The shot; if it is a clip, its frames are read by the matrix and the range of the encoding."""
        encoding = self.history.present.encoding
        if encoding is None or not isinstance(self.scanned.first, ClipFrame):
            return self.scanned
        if self._read is None or self._read[0] is not self.scanned or self._read[1] is not encoding:
            self._read = self.scanned, encoding, shot_under(self.scanned, encoding)
        return self._read[2]

    @property
    def decision(self) -> Decision:
        """The decision, with the correction of the frame on screen if there are keyframes."""
        present = self.history.present
        if not present.keyframes or not self.shot.numbers:
            return present
        if self._seen is None or self._seen[0] is not present or self._seen[1] != self.frame:
            here = replace(present, correction=present.decided(self.shot.numbers[self.frame]))
            self._seen = present, self.frame, here
        return self._seen[2]

    @property
    def delivered(self) -> Decision:
        """The decision with the correction that apply carries out on the judged frame."""
        present = self.history.present
        return replace(present, correction=present.at(self.shot.number(self.judged)))

    @property
    def keyed(self) -> bool:
        """Whether a change of the correction is clear: there are no keyframes, or one is at the frame on screen."""
        keyframes, numbers = self.history.present.keyframes, self.shot.numbers
        return not keyframes or not numbers or numbers[self.frame] in {one.frame for one in keyframes}

    @property
    def default(self) -> Encoding:
        """The encoding of the file's format, or that which its header names."""
        return default_encoding(self.picture.linear, self.picture.tags) if self.picture else default_encoding(False)

    @property
    def encoding(self) -> Encoding:
        return self.decision.encoding or self.default

    @property
    def resolved_encoding(self) -> Encoding:
        """The encoding that the picture is corrected under: if its source is a CLF, with the path of that file."""
        return self.resolved_under(self.decision)

    def resolved_under(self, decision: Decision) -> Encoding:
        """The encoding that the picture would be corrected under by another decision."""
        return resolve_source(decision.encoding or self.default, self.shot.first.parent)

    @property
    def unsaved(self) -> bool:
        return self.history.present != self.saved

    @property
    def faulty(self) -> bool:
        """Whether something is wrong with the picture or the sidecar."""
        return self.gone or self.broken or self.fault is not None

    @property
    def file(self) -> Path:
        return self.shot.files[self.frame]

    @property
    def title(self) -> str:
        """Its name, followed by the number of the judged frame if the user chose one."""
        pinned = self.decision.judged
        return self.shot.name if pinned is None else f"{self.shot.name} @{pinned}"

    @property
    def judged(self) -> int:
        """The index of the file that the correction is judged by."""
        return self.shot.nearest(self.history.present.judged)

    def take(self, found: Sidecar | None) -> bool:
        """Adopts a sidecar that was read, as a step that undo can revert; returns whether it differs."""
        self.fault, self.conflict = None, False
        if found == self.sidecar:
            return False
        first = self.sidecar is None and not self.history.depth and not self.unsaved
        self.sidecar, self.saved = found, Decision.of(found)
        self.history = History(self.saved) if first else self.history.do(self.saved)
        self.changed = None
        return True
