"""Versions: kept under a name, whatever is undone; taken as a step of undo; compared; of a group at once."""

import datetime
from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image

from poise.correction import NEUTRAL, Correction
from poise.errors import PoiseError
from poise.frames import scan
from poise.sidecar import load
from poise_tui.commandline.versions import _two
from poise_tui.compare import wipe
from poise_tui.compare.target import other
from poise_tui.edits import group, versions
from poise_tui.edits.versions import VersionChooser
from poise_tui.session.session import Session


@pytest.fixture
def session(tmp_path: Path) -> Session:
    for name in ("ferry.png", "market.png", "quay.png"):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return Session(scan([tmp_path]).shots)


def saturated(value: float) -> Correction:
    return replace(NEUTRAL, saturation=value)


def test_a_version_outlives_undo_and_a_restart(session: Session) -> None:
    session.correct(saturated(1.2))
    assert versions.keep(session, " cooler ") == "kept as cooler"
    assert session.slot.history.depth == 1  # to keep one is no step
    session.undo()
    session.correct(saturated(0.9))  # and what could be redone is gone
    assert session.save_all() == []
    again = Session([slot.shot for slot in session.slots])
    kept = again.slot.decision.versions["cooler"]
    assert (kept.correction, again.slot.decision.correction) == (saturated(1.2), saturated(0.9))
    age = datetime.datetime.now(datetime.UTC) - datetime.datetime.fromisoformat(kept.at)
    assert datetime.timedelta() <= age < datetime.timedelta(minutes=5)
    assert versions.take(again, "cooler") == "cooler taken; undo takes it back"
    assert again.slot.decision.correction == saturated(1.2)
    assert versions.take(again, "cooler") == "the correction is that of cooler already"
    again.undo()
    assert again.slot.decision.correction == saturated(0.9)


def test_a_deleted_version_is_gone_from_the_sidecar(session: Session) -> None:
    for name in ("cooler", "warmer"):
        versions.keep(session, name)
    assert session.save_all() == []
    assert versions.delete(session, "cooler") == "deleted cooler; undo does not bring it back"
    assert session.save_all() == []
    assert list(load(session.slot.shot.sidecar_path).versions) == ["warmer"]


@pytest.mark.parametrize(
    ("way", "name", "told"),
    [
        ("keep", "  ", "a version needs a name"),
        ("keep", "x" * 65, "at most 64 letters"),
        ("keep", "cooler", "ferry.png has a version 'cooler' already"),
        ("take", "warmer", "it has no version 'warmer'; it has cooler"),
        ("delete", "warmer", "it has no version 'warmer'"),
        ("compare", "warmer", "it has no version 'warmer'"),
    ],
)
def test_what_can_not_be_is_told(session: Session, way: str, name: str, told: str) -> None:
    versions.keep(session, "cooler")
    before = session.slot.decision
    with pytest.raises(PoiseError) as fault:
        versions.WAYS[way](session, name)
    assert told in str(fault.value)
    assert session.slot.decision == before


def test_names_are_proposed_and_there_is_an_end_of_them(session: Session) -> None:
    for number in range(1, 65):
        assert versions.proposed(session) == f"version {number}"
        versions.keep(session, versions.proposed(session))
    with pytest.raises(PoiseError, match="at most 64 versions"):
        versions.keep(session, "one more")
    assert session.save_all() == []  # the sidecar takes as many


def test_two_versions_are_compared_until_something_is_decided(session: Session) -> None:
    session.correct(saturated(1.2))
    versions.keep(session, "cooler")
    session.correct(saturated(0.8))
    versions.keep(session, "version 2")
    session.correct(saturated(1.0))
    assert versions.compare(session, "cooler") == "wipe: cooler on the left, this shot on the right"
    target = other(session)
    assert target is not None
    assert (target.name, target.this, target.correction) == ("cooler", "this", saturated(1.2))
    assert session.shown == session.slot.decision
    assert versions.compare(session, "cooler", "version 2").endswith("version 2 on the right")
    target = other(session)
    assert target is not None
    assert (target.this, session.shown.correction) == ("version 2", saturated(0.8))
    group.nudge(session, 8, +1)  # nobody nudges what is not shown: the right side is the shot again
    assert session.shown == session.slot.decision
    assert other(session).this == "this"  # type: ignore[union-attr]
    assert wipe.cycle(session) == "no wipe"
    session.hold(versions=())
    assert wipe.cycle(session) == "wipe: before on the left, this shot on the right"
    assert wipe.cycle(session) == "wipe: ferry.png on the left, this shot on the right" or session.hand.wipe
    assert _two("cooler version 2", ("cooler", "version 2")) == ("cooler", "version 2")
    assert _two("version 2 cooler", ("cooler", "version 2")) == ("version 2", "cooler")


def test_the_list_of_versions_shows_each_and_takes_one(session: Session) -> None:
    with pytest.raises(PoiseError, match="no version yet"):
        VersionChooser(session)
    session.correct(saturated(1.2))
    versions.keep(session, "cooler")
    session.correct(saturated(0.8))
    versions.keep(session, "low tide")
    chooser = VersionChooser(session)
    assert set(chooser.names) == {"cooler", "low tide"}
    assert (chooser.note("low tide"), chooser.note("cooler")) == ("now", "")
    chooser.narrow("COOL")
    assert (chooser.names, session.shown.correction) == (["cooler"], saturated(1.2))
    assert session.slot.decision.correction == saturated(0.8)
    assert chooser.take() == "cooler taken; undo takes it back"
    assert session.slot.decision.correction == saturated(1.2)
    chooser = VersionChooser(session)
    chooser.narrow("gale")
    with pytest.raises(PoiseError, match="no version has 'gale' in its name"):
        chooser.take()


def test_a_group_keeps_and_takes_together(session: Session) -> None:
    session.marked, session.together = {1}, True
    group.nudge(session, 8, +1)
    assert versions.keep(session, "noon") == "kept as noon on 2 shots"
    assert group.undo(session) == (True, "undone on 2 shots together")  # its step still knows both
    session.marked = {1, 2}
    assert versions.take(session, "noon") == (
        "noon taken on 2 of 3 shots; unchanged: quay.png (it has no version 'noon', nor any other)"
    )
    assert [slot.decision.correction.saturation for slot in session.slots] == [1.02, 1.02, 1]
    group.undo(session)
    assert [slot.decision.correction for slot in session.slots] == [NEUTRAL] * 3
