"""Pens: of a terminal's 256 colours the nearest is taken, by pyte's and rich's own copies of the table."""

import numpy as np
import pyte.graphics
import pytest
from rich.color import Color, ColorSystem
from terminals import Emulated

from poise_tui.draw.pens import DEFAULT, TRUE, pens, sgr

TABLE = np.array([[int(entry[i : i + 2], 16) for i in (0, 2, 4)] for entry in pyte.graphics.FG_BG_256[16:]])


def colours() -> np.ndarray:  # type: ignore[type-arg]
    """Random colours, all greys, and colours next to grey and to the cube's levels."""
    chance = np.random.default_rng(3)
    greys = np.repeat(np.arange(256)[:, None], 3, axis=1)
    near = np.clip(greys.repeat(12, axis=0) + chance.integers(-4, 5, (3072, 3)), 0, 255)
    return np.concatenate([chance.integers(0, 256, (6000, 3)), greys, near, TABLE])


def test_no_colour_of_the_table_is_nearer() -> None:
    rgb = colours()
    found = pens(rgb, "256")
    assert found.min() >= 16
    errors = ((rgb[:, None].astype(np.int64) - TABLE[None]) ** 2).sum(axis=-1)
    mine = errors[np.arange(len(rgb)), found - 16]
    assert (mine == errors.min(axis=1)).all()


def test_the_table_is_the_one_that_rich_has() -> None:
    for number, (red, green, blue) in enumerate(TABLE.tolist(), 16):
        assert tuple(Color.from_ansi(number).get_truecolor()) == (red, green, blue)


def test_rich_steps_no_colour_down_to_a_nearer_one() -> None:
    rgb = colours()[:2000]
    for wanted, pen in zip(rgb.tolist(), pens(rgb, "256").tolist(), strict=True):
        other = Color.from_rgb(*wanted).downgrade(ColorSystem.EIGHT_BIT).number
        assert other is not None
        if other >= 16:
            mine, its = (((TABLE[number - 16] - wanted) ** 2).sum() for number in (pen, other))
            assert mine <= its


def test_colours_of_the_table_are_themselves() -> None:
    assert (TABLE[pens(TABLE, "256") - 16] == TABLE).all()


def test_true_colours_are_kept_and_few_colours_are_left_to_the_terminal() -> None:
    assert pens(np.array([[1, 2, 255]]), "truecolor").tolist() == [TRUE + 0x0102FF]
    for few in ("standard", None):
        assert pens(np.zeros((2, 3, 3), np.uint8), few).tolist() == [[DEFAULT] * 3] * 2  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("pen", "shown"),
    [
        (DEFAULT, "default"), (0, "black"), (1, "red"), (7, "white"), (8, "brightblack"), (15, "brightwhite"),
        (16, "000000"), (208, "ff8700"), (255, "eeeeee"), (TRUE, "000000"), (TRUE + 0x0102FF, "0102ff"),
    ],
)  # fmt: skip
def test_a_terminal_takes_a_pen_for_what_it_is(pen: int, shown: str) -> None:
    screen = Emulated(4, 1)
    screen.feed(f"\x1b[31;42m\x1b[{sgr(pen)}mx\x1b[{sgr(pen, background=True)}my".encode())
    first, second = screen.cells()[0][:2]
    assert (first.fg, second.fg, second.bg) == (shown, shown, shown)
