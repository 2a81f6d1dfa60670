"""Taking in what is new: the current shot is not disturbed, decisions stay, and it is said in a line."""

from pathlib import Path

import pytest
from PIL import Image

from poise.frames import Shot, scan
from poise.sidecar import load
from poise_tui.edits import group
from poise_tui.session.folder_changes import FolderChanges, folder_changes
from poise_tui.session.receiver import Receiver
from poise_tui.session.session import Session


@pytest.fixture
def day(tmp_path: Path) -> Path:
    for name in ("ferry.png", "pier.0102.png", "pier.0103.png", "quay.0001.png"):
        picture(tmp_path / name)
    return tmp_path


def picture(path: Path) -> None:
    Image.new("RGB", (8, 4), (90, 100, 110)).save(path)


def fresh(session: Session, day: Path) -> FolderChanges:
    """What is new in the folder, every file whole."""
    found = scan([day]).shots
    gone = {index for index, slot in enumerate(session.slots) if slot.gone}
    return folder_changes(
        [slot.shot for slot in session.slots], gone, found, {file for shot in found for file in shot.files}
    )


def receive(session: Session, day: Path) -> str:
    """Takes in what is new in the folder."""
    return Receiver(session).take(fresh(session, day))


def test_new_shots_stand_behind_the_others_and_are_listed_in_their_place(day: Path) -> None:
    session = Session(scan([day]).shots)
    session.go(1)
    group.nudge(session, 8, +1)
    for name in ("buoy.png", "net.png"):
        picture(day / name)
    assert receive(session, day) == "2 shots came in: buoy.png and 1 more"
    assert (session.index, session.slot.shot.name) == (1, "pier.####.png")
    assert [session.slots[i].shot.name for i in session.listing.shown] == [
        *("buoy.png", "ferry.png", "net.png", "pier.####.png", "quay.0001.png"),
    ]
    assert session.listing.place == 3
    session.go(3)
    group.nudge(session, 8, +1)
    assert session.save_all() == []
    assert load(day / "buoy.png.poise.json").correction.saturation == 1.02
    assert not fresh(session, day)


def test_a_sequence_gains_and_loses_frames_under_the_one_on_screen(day: Path) -> None:
    session = Session(scan([day]).shots)
    session.go(1)
    session.frame(+1)
    assert session.slot.file.name == "pier.0103.png"
    for number in (100, 101, 104):
        picture(day / f"pier.0{number}.png")
    assert receive(session, day) == "pier.####.png: 3 frames added"
    assert (session.slot.file.name, session.slot.frame) == ("pier.0103.png", 3)
    (day / "pier.0100.png").unlink()
    assert receive(session, day) == "pier.####.png: 1 frame gone"
    assert (session.slot.file.name, session.slot.frame) == ("pier.0103.png", 2)
    (day / "pier.0103.png").unlink()
    receive(session, day)
    assert session.slot.file.name == "pier.0104.png"


def test_a_still_that_becomes_a_sequence_takes_its_decisions_along(day: Path) -> None:
    session = Session(scan([day]).shots)
    session.go(2)
    group.nudge(session, 8, +1)
    session.save_all()
    picture(day / "quay.0002.png")
    assert receive(session, day) == "quay.0001.png is now a sequence: quay.####.png"
    assert (session.slot.file.name, session.slot.shot.numbers) == ("quay.0001.png", (1, 2))
    assert session.save_all() == []
    found = load(day / "quay.####.png.poise.json")
    assert (found.correction.saturation, found.shot.frames) == (1.02, (1, 2))


def test_what_is_gone_is_marked_and_keeps_what_was_decided(day: Path) -> None:
    session = Session(scan([day]).shots)
    group.nudge(session, 8, +1)
    (day / "ferry.png").unlink()
    assert receive(session, day) == "shot gone; decisions are kept: ferry.png"
    session.listing.ask(only="faults")
    assert (session.listing.matching, session.slot.decision.correction.saturation) == ((0,), 1.02)
    picture(day / "ferry.png")
    assert receive(session, day) == "shot back: ferry.png"
    assert session.listing.matching == ()


def test_sidecars_of_new_shots_stand_where_the_others_do(day: Path) -> None:
    aside = day / "aside"
    session = Session(scan([day], sidecars=aside).shots)
    picture(day / "buoy.png")
    receive(session, day)
    assert session.slots[3].shot.sidecar_path == aside / "buoy.png.poise.json"


def test_two_shots_never_share_a_sidecar(tmp_path: Path) -> None:
    """Two folders with the same name in them, and one folder of sidecars: the second can't be taken."""
    for folder in ("night", "day"):
        (tmp_path / folder).mkdir()
        picture(tmp_path / folder / f"{folder}.png")
    session = Session(scan([tmp_path / "night", tmp_path / "day"], sidecars=tmp_path / "aside").shots)
    roots = (tmp_path / "night", tmp_path / "day")
    came = [Shot("buoy.png", root, (root / "buoy.png",), False) for root in roots]
    receiver = Receiver(session)
    told = receiver.take(FolderChanges(tuple(came)))
    assert told == "shot came in: buoy.png; shot passed over, since another shot uses its sidecar: buoy.png"
    net = Shot("net.png", tmp_path / "day", (tmp_path / "day" / "net.png",), False)
    assert receiver.take(FolderChanges((net,), gone=(3,))) == "shot came in: net.png"
    assert receiver.take(FolderChanges(gone=(4, 0))) == "2 shots gone; decisions are kept: net.png and 1 more"
    assert [slot.gone for slot in session.slots] == [True, False, False, True]
    assert [slot.shot.root.name for slot in session.slots] == ["night", "day", "night", "day"]
