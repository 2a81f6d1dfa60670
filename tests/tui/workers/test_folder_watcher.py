"""New arrivals, with real files: told once they are whole, by events or without; what is no picture is passed over."""

import os
import shutil
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from queue import Empty, Queue

import pytest
from PIL import Image

from poise.frames import scan
from poise_tui.session.folder_changes import FolderChanges
from poise_tui.workers import folder_watcher
from poise_tui.workers.folder_watcher import FolderWatcher


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    folder.mkdir()
    picture(folder / "ferry.png")
    return folder


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, seconds in (("DELAY", 0.0), ("WAKE", 0.02), ("POLL", 0.1), ("STILL", 0.15), ("FRESH", 0.05)):
        monkeypatch.setattr(folder_watcher, name, seconds)


def picture(path: Path) -> None:
    Image.new("RGB", (8, 4), (90, 100, 110)).save(path)


def watched(day: Path, told: Queue[FolderChanges]) -> FolderWatcher:
    return FolderWatcher([day], False, scan([day]).shots, told.put)


@pytest.fixture
def told(day: Path) -> Iterator[Queue[FolderChanges]]:
    found: Queue[FolderChanges] = Queue()
    watcher = watched(day, found)
    watcher.start()
    yield found
    watcher.end()
    watcher._thread.join(5)
    assert not watcher._thread.is_alive()


def names(told: Queue[FolderChanges], count: int) -> list[str]:
    """The names of so many shots that came, in the order in which they were told."""
    came: list[str] = []
    while len(came) < count:
        came += [shot.name for shot in told.get(timeout=10).came]
    return came


def silent(told: Queue[FolderChanges], seconds: float = 0.5) -> None:
    with pytest.raises(Empty):
        told.get(timeout=seconds)


def test_what_lands_is_told_and_what_is_no_shot_is_not(day: Path, told: Queue[FolderChanges]) -> None:
    for name in (".hidden.png", "ferry.png.poise.json", "notes.txt", ".poise-tmp-quay.png"):
        (day / name).write_bytes(b"x")
    (day / "out").mkdir()
    (day / "out" / "poise-manifest.jsonl").touch()
    picture(day / "out" / "ferry.png")
    silent(told)
    (day / "night").mkdir()
    picture(day / "night" / "buoy.png")
    picture(day / "quay.png")
    assert sorted(names(told, 2)) == ["buoy.png", "quay.png"]


def test_a_file_that_is_still_written_waits(day: Path, told: Queue[FolderChanges]) -> None:
    with (day / "quay.png").open("wb") as file:
        for _ in range(8):
            file.write(b"x" * 100)
            file.flush()
            time.sleep(0.06)
        assert told.empty()
    assert names(told, 1) == ["quay.png"]
    (day / "empty.png").touch()
    silent(told)


def test_a_file_that_is_renamed_into_place_or_copied_with_its_time_is_told(
    day: Path, told: Queue[FolderChanges]
) -> None:
    picture(day / ".quay.png.part.png")
    os.replace(day / ".quay.png.part.png", day / "quay.png")
    shutil.copy2(day / "ferry.png", day / "pier.png")
    assert sorted(names(told, 2)) == ["pier.png", "quay.png"]


def test_a_sequence_grows_and_shots_go_and_come_back(day: Path, told: Queue[FolderChanges]) -> None:
    picture(day / "pier.0101.png")
    assert names(told, 1) == ["pier.0101.png"]
    picture(day / "pier.0102.png")
    assert {index: shot.name for index, shot in told.get(timeout=10).changed.items()} == {1: "pier.####.png"}
    picture(day / "pier.0103.png")
    assert told.get(timeout=10).changed[1].numbers == (101, 102, 103)
    os.rename(day / "ferry.png", day / "ferry.away")
    assert told.get(timeout=10).gone == (0,)
    os.rename(day / "ferry.away", day / "ferry.png")
    assert told.get(timeout=10).back == (0,)


def test_without_events_the_folders_are_looked_at(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As on a file system that tells nothing, or when there are no watches left."""

    def none(*roots: Path, **settings: object) -> Iterator[set[object]]:
        raise OSError("OS file watch limit reached")
        yield set()

    monkeypatch.setattr("watchfiles.watch", none)
    (day / "night").mkdir()
    told: Queue[FolderChanges] = Queue()
    watcher = watched(day, told)
    watcher.start()
    time.sleep(0.3)
    picture(day / "night" / "quay.png")
    assert names(told, 1) == ["quay.png"]
    (day / "ferry.png").unlink()
    assert told.get(timeout=10).gone == (0,)
    watcher.end()


def test_thousands_at_once_come_in_few_batches(day: Path, told: Queue[FolderChanges]) -> None:
    for number in range(2000):
        os.link(day / "ferry.png", day / f"quay{number}.png")
    batches, came = 0, 0
    while came < 2000:
        came += len(told.get(timeout=20).came)
        batches += 1
    assert came == 2000
    assert batches <= 10


def test_a_folder_that_cannot_be_read_for_a_while_loses_nothing(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (day / "night").mkdir()
    picture(day / "night" / "quay.png")
    watcher = watched(day, Queue())
    assert not watcher.look()
    real = os.scandir

    def faulty(folder: Path) -> object:
        if Path(folder).name == "night":
            raise OSError(5, "Input/output error")
        return real(folder)

    monkeypatch.setattr(os, "scandir", faulty)
    assert not watcher.look()
    monkeypatch.undo()
    shutil.rmtree(day / "night")
    assert watcher.look().gone == (1,)


def test_files_that_were_named_are_not_watched(day: Path) -> None:
    watcher = FolderWatcher([day / "ferry.png"], False, scan([day / "ferry.png"]).shots, lambda found: None)
    before = threading.active_count()
    watcher.start()
    assert threading.active_count() == before
    watcher.end()
