"""The level scale: ends, order and the way back."""

import numpy as np

from poise.scopes.levels import HIGH, LOW, level_of, row_of, rows_of


def test_the_scale_is_that_of_ebu_r_103():
    # EBU R 103: 8 bit codes 5 and 246 of the narrow range 16..235, that is -5 % and 105 %.
    assert round(16 + 219 * LOW) == 5
    assert round(16 + 219 * HIGH) == 246


def test_every_row_comes_back_from_its_own_level():
    for rows in (1, 7, 64, 1080):
        assert [row_of(level_of(row, rows), rows) for row in range(rows)] == list(range(rows))


def test_levels_outside_fall_into_the_edge_rows():
    assert rows_of(np.array([1e30, 1.06, -0.06, -1e30], np.float32), 40).tolist() == [0, 0, 39, 39]


def test_an_edge_belongs_to_the_row_above_it():
    edges = HIGH - np.arange(1, 22) * (HIGH - LOW) / 22
    for dtype in (np.float32, np.float64):
        assert rows_of(edges.astype(dtype), 22).tolist() == list(range(21))
