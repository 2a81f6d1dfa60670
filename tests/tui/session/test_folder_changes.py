"""What a scan says that is new: every shot keeps its place, and nothing counts before it is whole."""

from collections.abc import Collection
from pathlib import Path

import pytest

from poise.frames import Shot
from poise.frames.scan import _Walk
from poise_tui.session.folder_changes import FolderChanges, folder_changes

DAY = Path("day")


def scanned(*names: str) -> list[Shot]:
    """The shots that a scan makes of names in one folder."""
    walk = _Walk(stills=False, sidecars=None)
    walk._add(DAY, DAY, list(names))
    return walk.shots


def found(known: list[Shot], now: list[Shot], whole: Collection[str] = (), gone: Collection[int] = ()) -> FolderChanges:
    return folder_changes(known, gone, now, {DAY / name for name in whole})


KNOWN = ("ferry.png", "pier.0101.png", "pier.0102.png", "quay.png")


def test_the_same_again_is_no_news() -> None:
    assert not found(scanned(*KNOWN), scanned(*KNOWN))


def test_a_new_shot_comes_once_it_is_whole() -> None:
    now = scanned(*KNOWN, "market.png", "net.0001.png", "net.0002.png", "net.0003.png")
    assert not found(scanned(*KNOWN), now)
    assert [shot.name for shot in found(scanned(*KNOWN), now, ["market.png"]).came] == ["market.png"]
    assert not found(scanned(*KNOWN), now, ["net.0002.png"])  # one frame is no sequence yet
    (net,) = found(scanned(*KNOWN), now, ["net.0002.png", "net.0003.png"]).came
    assert (net.name, net.numbers, [file.name for file in net.files]) == (
        *("net.####.png", (2, 3), ["net.0002.png", "net.0003.png"]),
    )


def test_a_sequence_gains_frames_in_its_place_before_behind_and_between() -> None:
    known = scanned("ferry.png", "pier.0101.png", "pier.0103.png")
    now = scanned("ferry.png", *(f"pier.{n:04}.png" for n in range(100, 106)))
    fresh = found(known, now, ["pier.0100.png", "pier.0102.png", "pier.0105.png"])
    assert list(fresh.changed) == [1]
    assert fresh.changed[1].numbers == (100, 101, 102, 103, 105)  # the one that is still written is not among them
    assert (fresh.came, fresh.gone) == ((), ())


def test_a_still_whose_second_frame_comes_becomes_a_sequence_in_its_place() -> None:
    known = scanned("ferry.png", "pier.0101.png")
    now = scanned("ferry.png", "pier.0101.png", "pier.0102.png")
    assert [shot.name for shot in known] == ["ferry.png", "pier.0101.png"]
    assert not found(known, now)
    fresh = found(known, now, ["pier.0102.png"])
    assert {index: shot.name for index, shot in fresh.changed.items()} == {1: "pier.####.png"}
    assert fresh.came == ()


def test_what_vanishes_is_gone_and_may_come_back() -> None:
    known = scanned(*KNOWN)
    fresh = found(known, scanned("pier.0101.png"))
    assert (fresh.gone, fresh.came) == ((0, 2), ())
    assert (fresh.changed[1].name, fresh.changed[1].numbers) == ("pier.####.png", (101,))
    known[1] = fresh.changed[1]
    assert not found(known, scanned("pier.0101.png"), gone={0, 2})
    again = found(known, scanned(*KNOWN), ["pier.0102.png"], gone={0, 2})
    assert (again.back, again.changed[1].numbers, again.gone) == ((0, 2), (101, 102), ())
    assert found(known, []).gone == (0, 1, 2)


@pytest.mark.parametrize("name", ["pier.0102.tif", "Pier.0102.png"])
def test_other_names_are_other_shots(name: str) -> None:
    known = scanned("pier.0101.png")
    assert [shot.name for shot in found(known, scanned("pier.0101.png", name), [name]).came] == [name]
