"""The title line of a pane."""

import pytest

from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.draw.scopes.histogram import marks
from poise_tui.draw.scopes.traces import Marks, letters
from poise_tui.widgets.pane import heading

LOOK = Look(Capability(120, 40, "truecolor", True))
FOUR = letters(marks(19), 19)
"""Above the narrowest histogram of four channels."""


@pytest.mark.parametrize(
    ("title", "key", "columns", "over", "before", "shown"),
    [
        ("parade", "6", 12, (), "", "parade 6"),
        ("vectorscope, keyed", "7", 20, (), "", "vectorscope, keyed 7"),
        ("vectorscope, keyed", "7", 19, (), "", "vectorscope 7"),
        ("parade, before | alley_07", "6", 24, (), "", "parade, before 6"),
        ("histogram", "8", 19, FOUR, "", "8     Y   R   G   B"),
        ("histogram", "8", 19, FOUR, "BEFORE", "BEFORE    R   G   B"),
        ("waveform", "5", 30, (), "WITHOUT CURVES", "WITHOUT CURVES waveform 5"),
        ("waveform", "5", 8, (), "BEFORE", "BEFORE"),
    ],
)
def test_words_are_left_out_and_never_cut(
    title: str, key: str, columns: int, over: Marks, before: str, shown: str
) -> None:
    assert heading(title, key, columns, over, LOOK, before).lines() == [f"{shown:<{columns}}"]
