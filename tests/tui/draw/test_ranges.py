"""Ranges letter by letter on made-up counts, and their shares where the matte itself takes colours."""

from math import nan

import numpy as np
import pytest

from poise.chain.matte import key
from poise.correction.model import HueInterval, Interval, Matte
from poise.scopes import Colours
from poise_tui.draw.capability import Colours as Depth
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.palette import palette
from poise_tui.draw.ranges import FULL_CHROMA, INSIDE, MARGIN, OUTSIDE, SOFT, cell_on, draw_ranges

FLAT = Colours(np.ones(36, np.int64), np.ones(20, np.int64), np.ones(20, np.int64))
NOTHING = Colours(*(np.zeros(36, np.int64) for _ in range(3)))
SEA = Matte("sea", hue=HueInterval(180, 260, 40), chroma=Interval(0.12, 0.3, 0.1), luma=Interval(0.2, 0.6, 0.2))


def axes(matte: Matte, columns: int = MARGIN + 36, at: tuple[float, float, float] | None = None) -> list[str]:
    """The three axes alone, without their names."""
    return [line[MARGIN:] for line in draw_ranges(FLAT, matte, at, columns, 3).lines()]


def test_ranges_stand_over_their_axes() -> None:
    # 0..360 over 36 cells, chroma 0..0.6 and luma 0..1 over as many; bars stand at the angles of BT.709's Cb and Cr
    counts = Colours(
        np.repeat([0, 1, 4, 16], 9),
        np.repeat([16, 4, 1, 0, 0], 4),
        np.repeat([1, 0, 16, 0], 9),
    )
    assert draw_ranges(counts, SEA, (200.0, 0.25, 0.5), MARGIN + 36, 9, unicode=False).lines() == [
        "                                  #########",
        "                         ##################"[:34] + "#########",
        "",
    ]


def test_a_row_for_each_axis() -> None:
    assert draw_ranges(FLAT, SEA, None, MARGIN + 36, 3).lines() == []
