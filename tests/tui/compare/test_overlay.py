"""What a wipe or a ghost does to the count grids, on ramps, and the titles that say so."""

import numpy as np

from poise.scopes import Instruments, instruments
from poise.scopes.readings import measure
from poise_tui.compare.overlay import NOTHING, Overlay, same_sizes
from poise_tui.measure.view import View


def seen(level: float) -> View:
    picture = np.full((8, 64, 3), level, np.float32)
    return View(instruments(picture, 16, 22, 9, parade_columns=8), picture, measure(picture))


def rows(counted: Instruments) -> list[int]:
    """The row that each column of the waveform has its pixels in."""
    return [int(row) for row in counted.waveform.argmax(axis=0)]


def test_left_of_a_wipe_the_columns_are_the_others() -> None:
    dark, light = seen(0.0), seen(1.0)
    assert light.scopes is not None
    low, high = 20, 0
    for split, columns in ((0.0, 0), (0.25, 4), (0.5, 8), (1.0, 16)):
        against = Overlay("quay.tif", split, dark)
        joined = against.joined(light.scopes, True)
        assert rows(joined) == [low] * columns + [high] * (16 - columns)
        assert (joined.parade.argmax(axis=1) == low).sum(axis=1).tolist() == [columns // 2] * 3
        assert joined.vectorscope is light.scopes.vectorscope
        assert against.ghost is None
    assert Overlay("quay.tif", 0.5, dark).lines(light.scopes, True) == {"waveform": (8,), "parade": (6, 11, 16)}


def test_a_ghost_leaves_the_counts_alone() -> None:
    light = seen(1.0)
    assert light.scopes is not None
    ghost = Overlay("quay.tif", None, seen(0.0))
    assert ghost.joined(light.scopes, True) is light.scopes
    assert ghost.ghost is not None
    assert ghost.lines(light.scopes, True) == {}
    assert NOTHING.joined(light.scopes, True) is light.scopes


def test_titles_say_what_is_compared() -> None:
    assert NOTHING.title("waveform") == ""
    assert Overlay("quay.tif").title("parade") == "parade, ghost quay.tif"
    assert Overlay("before", 0.5).title("waveform") == "waveform, before | this"
    assert Overlay("quay.tif", 0.5).title("vectorscope") == ""
    assert Overlay("quay.tif", None, None, "cut short").title("waveform") == "waveform, quay.tif: cut short"


def test_views_of_other_sizes_are_not_put_beside_each_other() -> None:
    picture = np.full((8, 64, 3), 0.5, np.float32)
    small = View(instruments(picture, 16, 4, 9, parade_columns=8), picture, measure(picture))
    assert same_sizes(seen(0.0), seen(1.0))
    assert not same_sizes(small, seen(0.0))
    assert not same_sizes(None, seen(0.0))
