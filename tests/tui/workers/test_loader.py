"""Loading: what is wanted now comes first, memory is bounded, and a file is what it was when it was read."""

import os
import threading
from pathlib import Path
from queue import Queue

import numpy as np
import pytest
from PIL import Image

from poise.errors import FileError
from poise.frames import Depth, Frame, read
from poise.stamp import Stamp
from poise_tui.measure.loaded import Loaded, loaded
from poise_tui.workers import loader
from poise_tui.workers.loader import Loader


class Harbour:
    """Where pictures come in: every report, and waiting for the next."""

    def __init__(self) -> None:
        self.came: list[Loaded] = []
        self._news = threading.Condition()

    def __call__(self, found: Loaded) -> None:
        with self._news:
            self.came.append(found)
            self._news.notify_all()

    @property
    def names(self) -> list[str]:
        return [found.file.name for found in self.came]

    def wait(self, count: int) -> list[str]:
        with self._news:
            assert self._news.wait_for(lambda: len(self.came) >= count, 20), self.names
        return self.names


def pictures(folder: Path, count: int, size: tuple[int, int] = (40, 30)) -> list[Path]:
    files = [folder / f"quay_{number:02}.png" for number in range(count)]
    for number, file in enumerate(files):
        Image.new("RGB", size, (number, 100, 110)).save(file)
    return files


def test_a_picture_comes_with_its_proxy_and_sample(tmp_path: Path) -> None:
    (file,) = pictures(tmp_path, 1, (1920, 1080))
    harbour = Harbour()
    loader = Loader(harbour)
    assert loader.get(file) is None
    loader.want([file])
    harbour.wait(1)
    found = loader.get(file)
    assert found is harbour.came[0]
    assert found.small is not None
    assert found.sample is not None
    assert (found.width, found.height, found.small.shape, found.depth) == (1920, 1080, (540, 960, 3), Depth.U8)
    assert (found.step, found.sample.shape, found.fault, found.grey) == (3, (180, 320, 3), None, False)
    assert loader.held == found.bytes == 3 * (540 * 960 + 180 * 320)
    assert loader.whole(file) is loader.whole(file)
    loader.end()


def test_sixteen_bits_are_sampled_in_twelve() -> None:
    codes = np.arange(65536, dtype=np.uint16).reshape(256, 256, 1)
    found = loaded(Path("quay.tif"), None, Frame(codes, Depth.U16), codes)
    assert found.sample_depth is Depth.U12
    assert found.sample is not None
    assert (int(found.sample.max()), found.step, found.grey) == (4095, 1, True)
    assert (found.sample == codes >> 4).all()


class Slow:
    """Reading that waits, for some files, until it is let go, and remembers in which order it began."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, held: set[str]) -> None:
        self.read: list[str] = []
        self.begun, self.go = threading.Event(), threading.Event()
        self._held = held
        monkeypatch.setattr(loader, "read", self)

    def __call__(self, file: Path) -> Frame:
        self.read.append(file.name)
        if file.name in self._held:
            self.begun.set()
            assert self.go.wait(20)
        return read(file)


def test_the_latest_wanted_comes_first_and_what_was_given_up_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files, harbour = pictures(tmp_path, 9), Harbour()
    names = [file.name for file in files]
    slow = Slow(monkeypatch, set(names))
    loader = Loader(harbour)
    loader.want(files[:6])
    assert slow.begun.wait(20)  # of the first two, as there are two threads
    loader.want(files[3:6])
    loader.want(files[8:5:-1])
    slow.go.set()
    while not {*names[6:]} <= {*harbour.names}:
        harbour.wait(len(harbour.came) + 1)
    loader.end()
    begun = [name for name in slow.read if name not in names[:2]]
    assert not {*names[4:6]} & {*begun}  # the third may have been begun while it came first
    assert [name for name in begun if name in names[6:8]] == [names[7], names[6]]
    # the first may be noted late: it was taken by the other thread
    assert [name for name in begun if name != names[8]][-1] == names[6]


def test_a_neighbour_that_decodes_slowly_never_delays_the_shot_in_hand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files, harbour = pictures(tmp_path, 6), Harbour()
    slow = Slow(monkeypatch, {files[1].name, files[5].name})
    loader = Loader(harbour)
    for number in (0, 2, 3, 4):
        loader.want([files[number], files[1], files[5]])
        while files[number].name not in harbour.names:
            harbour.wait(len(harbour.came) + 1)
    assert slow.begun.wait(20)
    assert not {files[1].name, files[5].name} & {*harbour.names}
    slow.go.set()
    loader.end()


def test_memory_is_bounded_and_what_was_not_used_for_longest_goes_first(tmp_path: Path) -> None:
    files, harbour = pictures(tmp_path, 8), Harbour()
    each = 2 * 40 * 30 * 3  # proxy and sample
    loader = Loader(harbour, memory=3 * each)
    for count, file in enumerate(files[:3], 1):
        loader.want([file])
        harbour.wait(count)
    assert loader.held == 3 * each
    assert loader.get(files[0]) is not None  # used again, so it stays
    loader.want([files[3]])
    harbour.wait(4)
    assert [loader.get(file) is not None for file in files[:4]] == [True, False, True, True]
    for count, file in enumerate(files[4:], 5):
        loader.want([file])
        harbour.wait(count)
        assert loader.held <= 3 * each
    loader.end()


def test_what_is_wanted_now_is_kept_even_beyond_the_bound(tmp_path: Path) -> None:
    files, harbour = pictures(tmp_path, 3), Harbour()
    loader = Loader(harbour, memory=1)
    loader.want(files)
    harbour.wait(3)
    loader.end()
    assert all(loader.get(file) for file in files)


def test_a_broken_file_gives_its_reason_and_the_next_is_read(tmp_path: Path) -> None:
    good, harbour = pictures(tmp_path, 1), Harbour()
    bad = tmp_path / "fog.png"
    bad.write_bytes(b"")
    gone = tmp_path / "gone.png"
    loader = Loader(harbour)
    loader.want([bad, gone, *good])
    harbour.wait(3)
    loader.end()
    faults = {found.file.name: found.fault for found in harbour.came}
    assert faults["quay_00.png"] is None
    assert "empty" in str(faults["fog.png"])
    assert "no such file" in str(faults["gone.png"]).lower()
    assert not any("\n" in fault for fault in faults.values() if fault)
    assert loader.held == sum(found.bytes for found in harbour.came)


def test_a_replaced_file_is_read_again_and_an_unchanged_one_is_not(tmp_path: Path) -> None:
    (file, other), harbour = pictures(tmp_path, 2), Harbour()
    loader = Loader(harbour)
    loader.want([file])
    harbour.wait(1)
    loader.whole(file)
    Image.new("RGB", (40, 30), (200, 100, 110)).save(tmp_path / "next.png")
    os.replace(tmp_path / "next.png", file)
    loader.want([file])
    harbour.wait(2)
    again = loader.get(file)
    assert again is not None
    assert again.small is not None
    assert again.stamp == Stamp.of(file) != harbour.came[0].stamp
    assert int(again.small[0, 0, 0]) == 200
    assert int(loader.whole(file).colour[0, 0, 0]) == 200
    loader.want([file, other])
    assert harbour.wait(3)[2] == other.name
    loader.end()


def test_a_whole_frame_that_is_gone_says_so(tmp_path: Path) -> None:
    (file,), harbour = pictures(tmp_path, 1), Harbour()
    loader = Loader(harbour)
    loader.whole(file)
    file.unlink()
    with pytest.raises(FileError, match=r"(?i)no such file"):
        loader.whole(file)
    assert Stamp.of(file) is None
    loader.end()


def test_a_fault_nobody_foresaw_costs_its_picture_and_not_the_thread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files, harbour = pictures(tmp_path, 4), Harbour()
    odd = {files[0]: KeyError("fog"), files[1]: MemoryError()}

    def reading(file: Path) -> Frame:
        if file in odd:
            raise odd[file]
        return read(file)

    monkeypatch.setattr(loader, "read", reading)
    loads = Loader(harbour)
    for number, file in enumerate(files[:3], 1):
        loads.want([file])
        harbour.wait(number)
    assert [found.fault for found in harbour.came] == [
        "an unforeseen fault (KeyError: 'fog')",
        "there is not enough memory for this picture; use fewer --workers",
        None,
    ]
    taken: Queue[Loaded] = Queue()

    def take(found: Loaded) -> None:
        taken.put(found)
        if not found.fault:
            raise ZeroDivisionError("an empty sample")

    for file in files[2:]:
        loads.spare([file], take)
        assert taken.get(timeout=20).fault is None
        assert taken.get(timeout=20).fault == "an unforeseen fault (ZeroDivisionError: an empty sample)"
    assert loads.idle
    loads.end()
