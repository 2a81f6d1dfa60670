"""The palette, held to the contrast that WCAG 2.2 (1.4.3) asks of text."""

import pytest

from poise_tui.draw.capability import Colours
from poise_tui.draw.cells import Ink
from poise_tui.draw.palette import THEMES, Theme, palette
from poise_tui.draw.pens import TRUE

TEXTS = (Ink.TEXT, Ink.FAINT, Ink.TITLE, Ink.KEY, Ink.MARK, Ink.WARNING, Ink.ENDS)


def luminance(pen: int) -> float:
    """Relative luminance (WCAG 2.2)."""
    parts = [(pen - TRUE >> shift & 255) / 255 for shift in (16, 8, 0)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("theme", THEMES)
def test_every_text_has_a_contrast_of_four_and_a_half_on_its_ground(theme: Theme) -> None:
    colours: Colours = "truecolor"
    found = palette(theme, colours)
    ground = luminance(found.ground)
    for ink in TEXTS:
        text = luminance(int(found.fore[ink, 0]))
        assert (max(text, ground) + 0.05) / (min(text, ground) + 0.05) >= 4.5, ink
