"""Viewing: rough at once, then fine, then exact; what is slow goes to a thread, and what comes too late is dropped."""

import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from until import LIMIT

from poise.commands.shared.shots import readings as exact
from poise.correction import CODED, NEUTRAL, Balance, Correction, Light
from poise.delivery.examine import examine
from poise.delivery.limits import load
from poise.errors import PoiseError
from poise.frames import proxy, read
from poise.scopes import measure
from poise_tui.measure.loaded import Loaded, loaded
from poise_tui.measure.view import Grids, View, view
from poise_tui.workers import viewer as module
from poise_tui.workers.loader import Loader
from poise_tui.workers.thread import Answer
from poise_tui.workers.viewer import Exact, ViewAnswer, Viewer, Wanted

GRIDS = Grids(40, 20, 64, 32)
OTHER = Grids(80, 40, 64, 32)
LIFTED = Correction(balance=Balance(offset=(20 / 255,) * 3))


def picture(folder: Path, name: str = "quay.png") -> Loaded:
    """Noise of 1200 x 720 about a few levels, so that a sample and the whole read differently."""
    noise = np.random.default_rng(7).integers(20, 200, (720, 1200, 3), dtype=np.uint8)
    Image.fromarray(noise).save(folder / name)
    frame = read(folder / name)
    return loaded(folder / name, None, frame, proxy(frame.colour, 960, 540))


class Threads:
    """What came back from threads, to be taken in on this one."""

    def __init__(self) -> None:
        self.made: list[ViewAnswer] = []
        self._news = threading.Condition()

    def __call__(self, made: ViewAnswer) -> None:
        with self._news:
            self.made.append(made)
            self._news.notify_all()

    def next(self, count: int = 1) -> ViewAnswer:
        with self._news:
            assert self._news.wait_for(lambda: len(self.made) >= count, LIMIT)
        return self.made[count - 1]


@pytest.fixture
def threads() -> Threads:
    return Threads()


@pytest.fixture
def viewer(monkeypatch: pytest.MonkeyPatch, threads: Threads) -> Iterator[Viewer]:
    monkeypatch.setattr(module, "QUICK", 60.0)  # what is quick must not hang on what else the machine does
    loader = Loader(lambda found: None)
    viewer = Viewer(loader, threads)
    yield viewer
    viewer.end()
    loader.end()


def test_rough_then_fine_then_exact(tmp_path: Path, viewer: Viewer, threads: Threads) -> None:
    found = picture(tmp_path)
    wanted = Wanted(found, LIFTED, CODED, GRIDS)
    viewer.want(wanted)
    rough = viewer.view
    assert rough is not None
    assert found.sample is not None
    assert found.small is not None
    # every pixel of what is counted lies in some column of the waveform
    assert int(rough.scopes.waveform.sum()) == found.sample.shape[0] * found.sample.shape[1]
    assert viewer.exact is None
    viewer.refine()
    assert viewer.take(threads.next())
    fine = viewer.view
    assert fine is not rough
    assert fine is not None
    assert int(fine.scopes.waveform.sum()) == found.small.shape[0] * found.small.shape[1]
    assert np.array_equal(fine.levels.shape, rough.levels.shape)
    viewer.read_exactly()
    assert viewer.take(threads.next(2))
    assert viewer.exact is not None
    assert viewer.exact.readings == exact(read(found.file), CODED, LIFTED)
    # the offset of ASC CDL is twenty codes here, of which no pixel has more than 200
    lifted = read(found.file).colour + np.uint8(20)
    assert viewer.exact.readings == measure(lifted, 255)
    viewer.want(Wanted(found, NEUTRAL, CODED, GRIDS))
    assert viewer.exact is None


def test_the_same_again_is_not_made_again(tmp_path: Path, viewer: Viewer) -> None:
    found = picture(tmp_path)
    viewer.want(Wanted(found, NEUTRAL, CODED, GRIDS))
    first = viewer.view
    viewer.want(Wanted(found, NEUTRAL, CODED, GRIDS))
    assert viewer.view is first


class Held:
    """Views in a thread wait until they are let go; those made on the thread that answers keys are counted."""

    def __init__(self) -> None:
        self._main = threading.current_thread()
        self.here = 0
        self.begun, self.go = threading.Semaphore(0), threading.Semaphore(0)

    def __call__(
        self, found: Loaded, correction: Correction, *rest: object, rough: bool = False, **more: object
    ) -> View:
        if threading.current_thread() is self._main:
            self.here += 1
        else:
            self.begun.release()
            assert self.go.acquire(timeout=LIMIT)
        return view(found, correction, *rest, rough=rough, **more)  # type: ignore[arg-type, misc]


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Held:
    held = Held()
    monkeypatch.setattr(module, "view", held)
    return held


def lit(exposure: float) -> Correction:
    return Correction(light=Light(exposure=exposure))


def test_a_slow_kind_goes_to_the_thread_where_only_the_newest_counts(
    tmp_path: Path, viewer: Viewer, threads: Threads, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = picture(tmp_path)
    viewer.want(Wanted(found, NEUTRAL, CODED, GRIDS))
    at_once = viewer.view
    viewer.want(Wanted(found, lit(0.1), CODED, GRIDS))  # the first in light may have to import much
    assert held.begun.acquire(timeout=LIMIT)
    for exposure in (0.2, 0.3, 0.4, 0.5):
        viewer.want(Wanted(found, lit(exposure), CODED, GRIDS))
    assert viewer.view is at_once  # what is there stays until the next is made
    assert held.here == 1  # and no key waits for a view in light
    for _ in range(2):
        held.go.release()
    assert threads.next(2).asked.correction == lit(0.5)
    assert len(threads.made) == 2
    assert threads.made[0].asked.correction == lit(0.1)
    assert all(viewer.take(made) for made in list(threads.made))
    assert viewer.view is threads.made[1].found
    with monkeypatch.context() as slow:
        slow.setattr(module, "QUICK", 0.0)  # it is known by now what a view in light takes, which is more
        viewer.want(Wanted(found, lit(0.6), CODED, GRIDS))
    held.go.release()
    assert threads.next(3).asked.correction == lit(0.6)
    assert held.here == 1
    viewer.want(Wanted(found, LIFTED, CODED, GRIDS))  # another kind is quick, and answered at once
    assert held.here == 2
    assert viewer.view is not threads.made[1].found


def test_what_comes_too_late_is_dropped(tmp_path: Path, viewer: Viewer, threads: Threads) -> None:
    found, next_shot = picture(tmp_path), picture(tmp_path, "ferry.png")
    late = Wanted(found, lit(0.5), CODED, GRIDS)
    made = Answer(late, view(found, lit(0.5), CODED, GRIDS, rough=True), 0.001)
    viewer.want(Wanted(found, NEUTRAL, CODED, GRIDS))
    present = viewer.view
    assert not viewer.take(made)  # the present state is on the desk already
    assert viewer.view is present
    viewer.want(Wanted(next_shot, NEUTRAL, CODED, GRIDS))
    present = viewer.view
    larger = view(next_shot, NEUTRAL, CODED, OTHER, rough=True)
    readings = Exact(examine(read(found.file), NEUTRAL, CODED, load()))
    for stale in (
        made,
        Answer(late, PoiseError("it broke")),
        Answer(Wanted(found, NEUTRAL, CODED, GRIDS), readings),
        Answer(Wanted(next_shot, lit(1), CODED, GRIDS), readings),
        Answer(Wanted(next_shot, lit(1), CODED, GRIDS), PoiseError("it broke")),
        Answer(Wanted(next_shot, NEUTRAL, CODED, OTHER), larger, 0.001),
    ):
        assert not viewer.take(stale)
        assert (viewer.view, viewer.fault, viewer.exact) == (present, None, None)


def test_while_the_present_state_is_made_an_earlier_one_is_shown(
    tmp_path: Path, viewer: Viewer, threads: Threads, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    import colour  # noqa: F401

    found = picture(tmp_path)
    viewer.want(Wanted(found, NEUTRAL, CODED, GRIDS))
    viewer.want(Wanted(found, lit(0.1), CODED, GRIDS))
    viewer.want(Wanted(found, lit(0.2), CODED, GRIDS))
    earlier = view(found, lit(0.15), CODED, GRIDS, rough=True)
    between = Answer(Wanted(found, lit(0.15), CODED, GRIDS), earlier, 0.06)
    assert viewer.take(between)
    assert viewer.view is between.found
    held.go.release()
    assert viewer.take(threads.next())
    assert not viewer.take(between)


def test_a_fault_is_told_and_leaves_with_the_next_view(tmp_path: Path, viewer: Viewer, threads: Threads) -> None:
    found = picture(tmp_path)
    grey = loaded(found.file, None, read(found.file), found.small[:, :, :1])  # type: ignore[index]
    viewer.want(Wanted(grey, Correction(balance=Balance(offset=(0.1, 0, 0))), CODED, GRIDS))
    assert viewer.view is None
    assert viewer.fault is not None
    assert "grey" in viewer.fault
    viewer.want(Wanted(grey, LIFTED, CODED, GRIDS))
    assert viewer.fault is None
    assert viewer.view is not None
    found.file.unlink()
    viewer.read_exactly()
    assert viewer.take(threads.next())
    assert viewer.view is None
    assert "no such file" in str(viewer.fault).lower()
    viewer.forget()
    assert (viewer.asked, viewer.fault) == (None, None)
    assert not viewer.take(threads.made[0])
