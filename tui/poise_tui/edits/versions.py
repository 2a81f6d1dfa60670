"""Versions: named states of a shot's correction, kept in its sidecar whatever is undone."""

import datetime
from collections.abc import Callable, Sequence

from msgspec.structs import replace

from poise.errors import PoiseError
from poise.sidecar.decision import Decision, no_version
from poise.sidecar.schema import MOST_VERSIONS, Version
from poise_tui.edits import group
from poise_tui.edits.chooser import Chooser
from poise_tui.session.session import Session
from poise_tui.session.shot_state import StillReading

LONGEST = 64


def proposed(session: Session) -> str:
    """A free name: "version 1", "version 2" and so on."""
    there = session.slot.decision.versions
    return next(name for number in range(1, MOST_VERSIONS + 2) if (name := f"version {number}") not in there)


def keep(session: Session, name: str) -> str:
    """Keeps the correction of the shot, or of each of the group, as a version; returns a message.

    Raises:
        PoiseError: the name is empty, too long or taken, or a shot has all the versions that it may have.
    """
    name = name.strip()
    if not name or len(name) > LONGEST:
        raise PoiseError(f"a version needs a name of at most {LONGEST} letters")
    indexes = group.members(session)
    if not all(session.load(index).loaded for index in indexes):
        raise StillReading("sidecars are still being read; press again")
    decisions = [session.slots[index].decision for index in indexes]
    for index, decision in zip(indexes, decisions, strict=True):
        if name in decision.versions:
            shot = session.slots[index].shot.name
            raise PoiseError(f"{shot} has a version {name!r} already; take another name, or :version delete {name}")
        if len(decision.versions) >= MOST_VERSIONS:
            raise PoiseError(f"a shot has at most {MOST_VERSIONS} versions: :version delete NAME first")
    at = datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    for index, decision in zip(indexes, decisions, strict=True):
        session.revise(index, {**decision.versions, name: Version(decision.correction, at, decision.keyframes)})
    return f"kept as {name}" + (f" on {len(indexes)} shots" if len(indexes) > 1 else "")


def take(session: Session, name: str) -> str:
    """Makes a version the correction of the shot, or of each of the group; returns a message.

    Raises:
        PoiseError: there is no such version.
    """

    def taken(index: int) -> Decision:
        decision = session.slots[index].decision
        taken = decision.under(name)
        return replace(group.corrected(decision, taken.correction), keyframes=taken.keyframes)

    result = group.do(session, taken)
    said = group.summary(session, result, f"{name} taken on", f"the correction is that of {name} already")
    return said or f"{name} taken{f' on {result.moved} shots' if result.asked > 1 else ''}; undo takes it back"


def delete(session: Session, name: str) -> str:
    """Deletes a version of the shot; returns a message.

    Raises:
        PoiseError: there is no such version.
    """
    versions = dict(_existing(session, name))
    versions.pop(name)
    session.revise(session.index, versions)
    return f"deleted {name}; undo does not bring it back"


def compare(session: Session, name: str, other: str = "") -> str:
    """Wipes from a version to the correction, or to another version; returns a message.

    Raises:
        PoiseError: there is no such version.
    """
    _existing(session, name)
    trial = session.slot.decision.under(other) if other else None
    session.before = False
    session.hold(wipe="version", versions=(name, other) if other else (name,))
    session.trial = trial
    return f"wipe: {name} on the left, {other or 'this shot'} on the right"


def _existing(session: Session, name: str) -> dict[str, Version]:
    versions = dict(session.slot.decision.versions)
    if name not in versions:
        raise PoiseError(no_version(name, versions))
    return versions


class VersionChooser(Chooser):
    """The versions of the current shot; the latest is the first."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        versions = session.slot.decision.versions
        if not versions:
            raise PoiseError("this shot has no version yet")
        self._every = sorted(versions, key=lambda name: versions[name].at, reverse=True)
        self._chosen = ""

    @property
    def label(self) -> str:
        return "version"

    @property
    def every(self) -> Sequence[str]:
        return self._every

    @property
    def chosen(self) -> str:
        return self._chosen

    def note(self, name: str) -> str:
        decision = self.session.slot.decision
        return "now" if decision.versions[name].correction == decision.correction else ""

    def choose(self, name: str) -> None:
        self._chosen = name
        if name:
            self.show(self.session.slot.decision.under(name))
        else:
            self.leave()

    def take(self) -> str:
        self.leave()
        if not self._chosen:
            raise PoiseError(f"no version has {self.typed.strip()!r} in its name")
        return take(self.session, self._chosen)


WAYS: dict[str, Callable[[Session, str], str]] = {"keep": keep, "take": take, "delete": delete, "compare": compare}
