"""A folder for files for others: nothing there that is not ours is lost, and nothing leaves it."""

import os
from pathlib import Path

import pytest

from poise.errors import OutputError
from poise.exchange.destination import Destination
from poise.exchange.seal import sealed

ONE, TWO = sealed(b"<one/>"), sealed(b"<two/>")


def test_what_is_ours_is_replaced_and_what_is_the_same_is_left(tmp_path: Path) -> None:
    first = Destination(tmp_path / "new" / "hand")
    path = first.put(Path("day/quay.cc"), ONE)
    before = path.stat()
    again = Destination(tmp_path / "new" / "hand")
    assert again.put(Path("day/quay.cc"), ONE) == path
    assert (again.written, again.kept) == ([], [path])
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    Destination(tmp_path / "new" / "hand").put(Path("day/quay.cc"), TWO)
    assert path.read_bytes() == TWO
    assert os.listdir(path.parent) == ["quay.cc"]


@pytest.mark.parametrize("foreign", [b"<one/>", ONE.replace(b"one", b"own"), b""])
def test_what_others_wrote_or_changed_stays(tmp_path: Path, foreign: bytes) -> None:
    path = tmp_path / "quay.cc"
    path.write_bytes(foreign)
    with pytest.raises(OutputError, match="not as poise wrote it; move it, or replace it with --again"):
        Destination(tmp_path).put(Path("quay.cc"), TWO)
    assert path.read_bytes() == foreign
    Destination(tmp_path, again=True).put(Path("quay.cc"), TWO)
    assert path.read_bytes() == TWO


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    outside, hand = tmp_path / "outside", tmp_path / "hand"
    for folder in (outside, hand):
        folder.mkdir()
    (outside / "quay.cc").write_bytes(ONE)
    (hand / "day").symlink_to(outside)
    (hand / "quay.cc").symlink_to(outside / "quay.cc")
    for again in (False, True):
        with pytest.raises(OutputError, match="leave the folder through a link"):
            Destination(hand, again).put(Path("day/quay.cc"), TWO)
    with pytest.raises(OutputError, match="not as poise wrote it"):
        Destination(hand).put(Path("quay.cc"), TWO)
    Destination(hand, again=True).put(Path("quay.cc"), TWO)
    assert not (hand / "quay.cc").is_symlink()
    assert (outside / "quay.cc").read_bytes() == ONE


def test_pipes_and_folders_in_its_place(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.cc")
    (tmp_path / "folder.cc").mkdir()
    (tmp_path / "file").write_bytes(b"")
    for name, reason in (
        ("pipe.cc", "not as poise"),
        ("folder.cc", "there is a folder of this name"),
        ("file/a.cc", "can't be"),
    ):
        with pytest.raises(OutputError, match=reason):
            Destination(tmp_path).put(Path(name), TWO)


def test_nothing_is_written_on_trial_and_nothing_twice(tmp_path: Path) -> None:
    trial = Destination(tmp_path / "hand", dry_run=True)
    trial.put(Path("quay.cc"), ONE)
    assert trial.written == [tmp_path / "hand" / "quay.cc"]
    assert not (tmp_path / "hand").exists()
    with pytest.raises(OutputError, match="two shots would be written there"):
        trial.put(Path("./quay.cc"), TWO)


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = Destination(tmp_path).put(Path("quay.cc"), ONE)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left on device"):
        Destination(tmp_path).put(Path("quay.cc"), TWO)
    assert path.read_bytes() == ONE
    assert os.listdir(tmp_path) == ["quay.cc"]
