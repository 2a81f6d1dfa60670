"""The list of a chooser, letter by letter."""

from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.choices import draw_choices

NAMES = ["sRGB", "ITU-R BT.709", "Harbour Log of the Night Watch", "linear"]
KEYS = (("tab", "delivery"), ("enter", "take"))


def note(name: str) -> str:
    return "now" if name == "sRGB" else ""


def test_the_chosen_name_is_marked_and_keys_stand_below_if_there_is_room() -> None:
    cells = draw_choices("source", NAMES, note, 1, KEYS, 20, 10)
    assert [line.rstrip() for line in cells.lines()] == [
        "source 2/4",
        "  sRGB           now",
        "> ITU-R BT.709",
        "  Harbour L~ht Watch",
        "  linear",
        "",
        "",
        "",
        "tab delivery",
        "enter take",
    ]
    assert set(cells.inks[2].tolist()) == {Ink.CHOSEN}


def test_few_rows_scroll_to_the_chosen_name() -> None:
    lines = [line.rstrip() for line in draw_choices("source", NAMES, note, 3, KEYS, 20, 3).lines()]
    assert lines == ["source 4/4", "  Harbour L~ht Watch", "> linear"]
    assert draw_choices("source", [], note, 0, KEYS, 20, 3).lines()[0].rstrip() == "source none"
