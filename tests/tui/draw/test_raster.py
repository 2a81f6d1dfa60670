"""A raster's bytes, judged by an emulated terminal: from any raster to any other, what is sent shows the second one."""

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from terminals import Emulated

from poise_tui.draw.pens import DEFAULT, TRUE
from poise_tui.draw.raster import BOLD, REVERSE, Raster, jumps, sequences

WIDE = "海港船"
NARROW = " abQ#·⡆⣿é"
PENS = (DEFAULT, DEFAULT, 1, 12, 196, 240, TRUE + 0x0A0B0C, TRUE + 0xFF8000)
NAMES = {1: "red", 12: "brightblue", DEFAULT: "default"}


def scattered(chance: random.Random, rows: int, columns: int) -> Raster:
    """Random cells, a fifth of them wide."""
    raster = Raster.blank(rows, columns)
    for row in range(rows):
        column = 0
        while column < columns:
            wide = chance.random() < 0.2 and column + 1 < columns
            glyph, fore, back = chance.choice(WIDE if wide else NARROW), chance.choice(PENS), chance.choice(PENS)
            for part in range(2 if wide else 1):
                raster.glyphs[row, column + part] = 0 if part else ord(glyph)
                raster.fore[row, column + part], raster.back[row, column + part] = fore, back
                raster.attributes[row, column + part] = 0
            if chance.random() < 0.3:
                raster.attributes[row, column : column + 1 + wide] = chance.choice((BOLD, REVERSE, BOLD | REVERSE))
            column += 1 + wide
    return raster


def altered(chance: random.Random, raster: Raster, share: float) -> Raster:
    """A raster of which some cells are as in another; halves of wide characters change together."""
    other, rows, columns = scattered(chance, *raster.shape), *raster.shape
    changed = Raster(*(getattr(raster, name).copy() for name in ("glyphs", "fore", "back", "attributes")))
    for row in range(rows):
        for column in range(columns - 1):
            whole = all(
                kept.glyphs[row, column] and (column + 2 >= columns or kept.glyphs[row, column + 2])
                for kept in (changed, other)
            )
            if whole and chance.random() < share:
                for name in ("glyphs", "fore", "back", "attributes"):
                    getattr(changed, name)[row, column : column + 2] = getattr(other, name)[row, column : column + 2]
    return changed


def colour(pen: int) -> str:
    """What the emulator calls a pen: its name, or RRGGBB by xterm's table."""
    if pen >= TRUE:
        return f"{pen - TRUE:06x}"
    if pen >= 232:
        return f"{8 + 10 * (pen - 232):02x}" * 3
    if pen >= 16:
        levels = (0, 95, 135, 175, 215, 255)
        return "".join(f"{levels[(pen - 16) // base % 6]:02x}" for base in (36, 6, 1))
    return NAMES[pen]


def shown(screen: Emulated, rows: int, columns: int, top: int, left: int) -> list[list[tuple[object, ...]]]:
    return [list(map(tuple, line[left : left + columns])) for line in screen.cells()[top : top + rows]]


def wanted(raster: Raster) -> list[list[tuple[object, ...]]]:
    """Cells of a raster, as the emulator holds them; the second half of a wide character holds what it will."""
    rows, columns = raster.shape
    return [
        [
            (
                chr(raster.glyphs[row, column]) if raster.glyphs[row, column] else "",
                colour(int(raster.fore[row, column])),
                colour(int(raster.back[row, column])),
                bool(raster.attributes[row, column] & BOLD),
                bool(raster.attributes[row, column] & REVERSE),
            )
            for column in range(columns)
        ]
        for row in range(rows)
    ]


def same(screen: list[list[tuple[object, ...]]], raster: list[list[tuple[object, ...]]]) -> bool:
    """Alike in all but the colours of second halves, which no terminal draws by themselves."""
    pairs = [pair for lines in zip(screen, raster, strict=True) for pair in zip(*lines, strict=True)]
    return all(one[0] == other[0] and (other[0] == "" or one == other) for one, other in pairs)


def send(screen: Emulated, texts: list[str], top: int, left: int) -> None:
    for row, text in enumerate(texts):
        screen.feed(f"\x1b[{top + row + 1};{left + 1}H{text}".encode())


@given(st.integers(0, 10**9), st.integers(1, 4), st.integers(1, 14), st.sampled_from([0.05, 0.3, 1.0]))
@settings(max_examples=150)
def test_what_is_sent_turns_one_raster_into_another(seed: int, rows: int, columns: int, share: float) -> None:
    chance = random.Random(seed)
    first = scattered(chance, rows, columns)
    second = altered(chance, first, share)
    screen = Emulated(columns + 6, rows + 2)
    everything = np.ones(first.shape, bool)
    send(screen, sequences(first, everything), 1, 3)
    assert same(shown(screen, rows, columns, 1, 3), wanted(first))
    for before, after in ((first, second), (second, first), (first, scattered(chance, rows, columns))):
        send(screen, sequences(before, everything), 1, 3)
        send(screen, sequences(after, after.differs(before)), 1, 3)
        assert same(shown(screen, rows, columns, 1, 3), wanted(after))
        send(screen, sequences(before, everything), 1, 3)
        screen.feed(jumps(after, after.differs(before), 3, 1).encode())
        assert same(shown(screen, rows, columns, 1, 3), wanted(after))
    frame = [cell for row, line in enumerate(screen.cells()) for column, cell in enumerate(line)
             if not (1 <= row <= rows and 3 <= column < 3 + columns)]  # fmt: skip
    assert all(cell.char == " " and cell.bg == "default" for cell in frame)  # nothing was drawn beside it


@given(st.integers(0, 10**9))
@settings(max_examples=60)
def test_a_row_leaves_the_cursor_at_its_right_edge_in_default_colours(seed: int) -> None:
    chance = random.Random(seed)
    raster = scattered(chance, 2, 9)
    changed = raster.differs(altered(chance, raster, 0.3))
    whole, one = np.ones((2, 9), bool), changed & np.array([[False], [True]])
    for text in (sequences(raster, whole)[1], sequences(raster, one)[1], sequences(raster, changed)[1]):
        screen = Emulated(20, 1)
        screen.feed(text.encode())
        assert screen.cursor[:2] == (9, 0)
        screen.feed(b"x")
        assert screen.cells()[0][9] == ("x", "default", "default", False, False)


def test_nothing_changed_sends_a_step_only() -> None:
    raster = scattered(random.Random(1), 3, 9)
    assert not raster.differs(raster).any()
    assert sequences(raster, np.zeros((3, 9), bool)) == ["\x1b[9C"] * 3
    assert sequences(Raster.blank(1, 1), np.zeros((1, 1), bool)) == ["\x1b[C"]


def test_colours_are_changed_only_where_they_change() -> None:
    raster = Raster.blank(1, 4)
    raster.glyphs[0] = [ord(glyph) for glyph in "quay"]
    raster.fore[0] = [196, 196, 9, DEFAULT]
    raster.attributes[0] = [0, 0, 0, BOLD]
    assert sequences(raster, np.ones((1, 4), bool)) == ["\x1b[38;5;196mqu\x1b[91ma\x1b[0;1my\x1b[0m"]


def test_an_update_jumps_to_what_changed_and_carries_colours_over_rows() -> None:
    raster = Raster.blank(3, 9)
    raster.fore[:] = 196
    raster.glyphs[:, 4] = ord("q")
    changed = np.zeros((3, 9), bool)
    assert jumps(raster, changed, 10, 20) == ""
    changed[[0, 2], 4] = True
    assert jumps(raster, changed, 10, 20) == "\x1b[21;15H\x1b[38;5;196mq\x1b[23;15Hq\x1b[0m"


def test_laid_and_fitted_rasters_are_cut_at_the_edges() -> None:
    ferry = Raster.blank(1, 5)
    ferry.glyphs[0] = [ord(glyph) for glyph in "ferry"]
    sea = Raster.blank(2, 4, ground=4)
    sea.lay(1, 2, ferry)
    sea.lay(5, 0, ferry)
    assert sea.lines() == ["    ", "  fe"]
    assert (sea.back[1] == [4, 4, DEFAULT, DEFAULT]).all()
    assert ferry.fitted(2, 7, 4).lines() == ["ferry  ", "       "]
    assert ferry.fitted(1, 3).lines() == ["fer"]
    assert ferry.fitted(1, 5) is ferry


def test_blanks_compare_as_equal_whatever_they_are_written_in() -> None:
    one, other = Raster.blank(1, 2), Raster.blank(1, 2)
    one.fore[0, 0], other.attributes[0, 1], other.fore[0, 1] = 9, REVERSE, 9
    assert one.plain_blanks().differs(other.plain_blanks()).tolist() == [[False, True]]


def test_own_colours_give_way_to_pens() -> None:
    raster = Raster.blank(1, 2)
    raster.glyphs[0, 0], raster.fore[0, 1], raster.back[0, 1] = ord("x"), 9, 7
    laid = raster.on(ground=4, text=15)
    assert (laid.fore.tolist(), laid.back.tolist()) == ([[15, DEFAULT]], [[4, 7]])


@pytest.mark.parametrize("wide", [True, False])
def test_lines_hold_each_character_once(wide: bool) -> None:
    raster = Raster.blank(1, 3)
    raster.glyphs[0, :2] = [ord("海"), 0] if wide else [ord("a"), ord("b")]
    assert raster.lines() == ["海 " if wide else "ab "]
