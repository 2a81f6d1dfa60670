"""Pens: of a terminal's colours the nearest that keeps the hue, by pyte's and rich's own copies of the table."""

import colour
import numpy as np
import pyte.graphics
import pytest
from rich.color import Color, ColorSystem
from terminals import Emulated

from poise_tui.draw.pens import DEFAULT, TRUE, hues, ladder, pens, sgr

TABLE = np.array([[int(entry[i : i + 2], 16) for i in (0, 2, 4)] for entry in pyte.graphics.FG_BG_256[16:]])


def colours() -> np.ndarray:  # type: ignore[type-arg]
    """Random colours, all greys, and colours next to grey and to the cube's levels."""
    chance = np.random.default_rng(3)
    greys = np.repeat(np.arange(256)[:, None], 3, axis=1)
    near = np.clip(greys.repeat(12, axis=0) + chance.integers(-4, 5, (3072, 3)), 0, 255)
    return np.concatenate([chance.integers(0, 256, (6000, 3)), greys, near, TABLE])


def lab(rgb: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    """CIELAB by colour-science."""
    return np.asarray(colour.XYZ_to_Lab(colour.sRGB_to_XYZ(rgb / 255)))


def hue_error(one: np.ndarray, other: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    """Degrees between the hues of CIELAB colours; 0 where either has next to none."""
    turns = [np.degrees(np.arctan2(side[:, 2], side[:, 1])) for side in (one, other)]
    coloured = np.minimum(*(np.hypot(side[:, 1], side[:, 2]) for side in (one, other))) > 10
    return np.asarray(np.abs((turns[0] - turns[1] + 180) % 360 - 180) * coloured)


def test_the_nearest_colour_keeps_its_hue() -> None:
    rgb = colours()
    found = pens(rgb, "256")
    assert found.min() >= 16
    mine, wanted = lab(TABLE[found - 16]), lab(rgb)
    assert hue_error(mine, wanted).max() < 26
    # the nearest by distance in R'G'B' errs by up to 90 degrees, and is no nearer on the whole (CIE 1976 difference)
    plain = lab(TABLE[((rgb[:, None].astype(np.int64) - TABLE[None]) ** 2).sum(axis=-1).argmin(axis=1)])
    assert hue_error(plain, wanted).max() > 80
    assert np.linalg.norm(mine - wanted, axis=1).mean() < 1.02 * np.linalg.norm(plain - wanted, axis=1).mean()


@pytest.mark.parametrize(
    ("rgb", "channels"),
    [
        ((130, 150, 200), "r<g<b"),  # a blue sky: no lilac, whose red is as strong as its green
        ((110, 130, 190), "r<g<b"),
        ((150, 40, 50), "b<=g<r"),  # brick
        ((90, 20, 45), "g<=b<r or grey"),  # a dark red: no magenta, whose blue is as strong as its red
    ],
)
def test_a_sky_is_no_lilac_and_a_dark_red_no_magenta(rgb: tuple[int, int, int], channels: str) -> None:
    r, g, b = TABLE[int(pens(np.array(rgb), "256")) - 16].tolist()
    assert {
        "r<g<b": r < g < b,
        "b<=g<r": b <= g < r,
        "g<=b<r or grey": g <= b < r or r == g == b,
    }[channels], (r, g, b)


def test_all_colours_of_a_picture_are_searched_once() -> None:
    steps = ladder(32, "256")
    assert steps is ladder(32, "256")
    for place in ((0, 0, 0), (31, 4, 9), (12, 20, 31)):
        assert steps[place] == pens(np.rint(np.array(place) * 255 / 31), "256")


def test_of_sixteen_colours_the_hue_is_kept() -> None:
    """Against the hue angle in CIELAB by colour-science; brightness is left to the character."""
    names = {1: (205, 0, 0), 2: (0, 205, 0), 3: (205, 205, 0), 12: (92, 92, 255), 5: (205, 0, 205), 6: (0, 205, 205)}
    wanted = {(60, 10, 20): 1, (130, 150, 200): 12, (20, 60, 20): 2, (220, 200, 120): 3, (20, 60, 70): 6, (9, 9, 9): -1}
    assert hues(np.array(list(wanted))).tolist() == list(wanted.values())
    rgb = colours()
    found = hues(rgb)
    assert set(found.tolist()) == {DEFAULT, *names}
    shown = np.array([names.get(pen, (128, 128, 128)) for pen in found.tolist()])
    assert np.percentile(hue_error(lab(shown), lab(rgb)), 99) < 50  # six hues are sixty degrees apart


def test_the_table_is_the_one_that_rich_has() -> None:
    for number, (red, green, blue) in enumerate(TABLE.tolist(), 16):
        assert tuple(Color.from_ansi(number).get_truecolor()) == (red, green, blue)


def test_rich_steps_colours_down_no_better() -> None:
    rgb = colours()[:2000]
    numbers = [Color.from_rgb(*wanted).downgrade(ColorSystem.EIGHT_BIT).number for wanted in rgb.tolist()]
    its = np.array([number for number in numbers if number is not None]) - 16
    assert its.shape == (2000,)
    kept = its >= 0
    mine, wanted = lab(TABLE[pens(rgb, "256") - 16])[kept], lab(rgb)[kept]
    other = lab(TABLE[its[kept]])
    assert np.linalg.norm(mine - wanted, axis=1).mean() < np.linalg.norm(other - wanted, axis=1).mean()
    assert hue_error(mine, wanted).max() < hue_error(other, wanted).max()


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
