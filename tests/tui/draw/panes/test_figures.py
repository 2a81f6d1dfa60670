"""The readings as small tables, letter by letter."""

from dataclasses import replace
from math import nan

from poise.delivery.fault import Fault
from poise.scopes.neutrals import Cast
from poise.scopes.readings import Channel, Readings, Spread
from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.figures import WIDTH, draw_figures, figures

READINGS = Readings(
    luma=Channel(2.5, 41.25, 97.75, 0.0, 0.0),
    red=Channel(-3.0, 44.0, 104.5, 1.25, 0.5),
    green=Channel(2.0, 40.0, 96.0, 0.0, 0.0),
    blue=Channel(0.0, 38.5, 90.0, 0.25, 12.0),
    spread=Spread(5.0, 5.5, 14.5),
    cast=Cast("red", 103.4, 2.34),
    saturation=7.65,
    outside=0.4,
    invalid=0.0,
)


def test_the_narrow_pane() -> None:
    assert [line.rstrip() for line in draw_figures(READINGS, False, 26, 10).lines()] == [
        "readings % ~",
        "        black   mid white",
        "Y         2.5  41.2  97.8",
        "R        -3.0  44.0 104.5",
        "G         2.0  40.0  96.0",
        "B         0.0  38.5  90.0",
        "spread    5.0   5.5  14.5",
        "<=0 1.2R >=100 12.0B",
        "cast red 2.3",
        "chroma 7.7 out 0.4",
    ]


def test_the_narrowest_pane() -> None:
    lines = draw_figures(READINGS, True, 20, 10).lines()
    assert [line.rstrip() for line in lines[:4]] == [
        "readings %",
        "   black   mid white",
        "Y    2.5  41.2  97.8",
        "R   -3.0  44.0 104.5",
    ]
    assert all(len(line) == 20 for line in lines)


def test_what_is_crushed_or_clipped_by_one_per_cent_is_marked() -> None:
    cells = draw_figures(READINGS, True, 26, 10)
    assert (cells.inks[7, 4], cells.inks[7, 15]) == (Ink.WARNING, Ink.WARNING)
    fine = replace(READINGS, red=READINGS.luma, blue=replace(READINGS.blue, clipped=0.9))
    cells = draw_figures(fine, True, 26, 10)
    told = cells.lines()[7].rstrip(), cells.inks[7, 4], cells.inks[7, 15]
    assert told == ("<=0 0.2B >=100 0.9B", Ink.TEXT, Ink.TEXT)


def test_numbers_that_are_none_are_told() -> None:
    none = replace(READINGS, cast=Cast("none", nan, nan), invalid=3.125)
    last = [line.rstrip() for line in draw_figures(none, True, 26, 10).lines()[8:]]
    assert last == ["cast none", "chroma 7.7 NaN 3.12"]
    assert figures(none)[-1] == "invalid 3.12 % not a number"
    empty = replace(READINGS, luma=Channel(nan, nan, nan, 0, 0))
    assert draw_figures(empty, True, 26, 10).lines()[2].split() == ["Y", "nan", "nan", "nan"]


def test_nothing_read_yet_shows_the_title_alone() -> None:
    assert [line.rstrip() for line in draw_figures(None, False, 26, 10).lines()] == ["readings % ~"] + [""] * 9


def test_the_wide_table() -> None:
    assert figures(READINGS) == [
        "        black    mid  white   <=0 >=100",
        "luma      2.5   41.2   97.8   0.0   0.0",
        "red      -3.0   44.0  104.5   1.2   0.5",
        "green     2.0   40.0   96.0   0.0   0.0",
        "blue      0.0   38.5   90.0   0.2  12.0",
        "spread    5.0    5.5   14.5",
        "cast    red 2.3 % at 103 deg",
        "chroma  7.7 % on average",
        "outside 0.4 % beyond -5..105",
    ]
    assert all(len(line) <= WIDTH for line in figures(READINGS))


def test_faults_stand_below_with_value_and_limit_and_those_without_room_are_counted() -> None:
    """Value and limit are never cut, at whatever width; the name is. What samples of all shots tell has a `~`."""
    found = [
        Fault("quay.tif", "black-over", 23.9, 5.0, "%"),
        Fault("quay.tif", "spread-top", 17.04, 5.0, "%"),
        Fault("quay.tif", "outside", 12.3, 1.0, "%"),
        Fault("quay.tif", "apart", 4.0, 3.5, "deviations", caution=True),
    ]

    def lines(rows: int, columns: int = 20, faults: list[Fault] = found) -> list[str]:
        return [line.rstrip() for line in draw_figures(READINGS, True, columns, rows, faults).lines()]

    def below(*size: int, faults: list[Fault] = found) -> list[str]:
        return lines(*size, faults=faults)[10:]

    assert (below(11), lines(11)[0]) == (["! black 23.9 > 5 %"], "readings %  4 faults")
    assert (below(12), lines(12)[0]) == (["! black 23.9 > 5 %", "and 3 more: :faults"], "readings %")
    wide = ["! black 23.9 > 5 %", "! white spread 17 > 5 %", "! out of range 12.3 > 1 %", "? outlier ~4 > 3.5"]
    assert below(14, 26) == wide
    assert below(14) == ["! black 23.9 > 5 %", "! wht spread 17 > 5", "! range 12.3 > 1", "? outlier ~4 > 3.5"]
    assert below(11, faults=[]) == [""]
