"""The picture: a thumbnail to recognise the shot, not to judge it."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from poise_tui.draw.look import Look
from poise_tui.draw.raster import Raster
from poise_tui.draw.scopes.magnifier import with_magnifier
from poise_tui.draw.scopes.picture import draw_picture
from poise_tui.draw.scopes.wipe import joined_pictures
from poise_tui.widgets.scope import Scope


class PictureView(Scope):
    """Shows a picture under its title."""

    def picture(
        self,
        levels: npt.NDArray[np.float32],
        key: str,
        look: Look,
        at: tuple[float, float] | None = None,
        title: str = "picture",
        marks: Sequence[tuple[float, float]] = (),
        wiped: tuple[npt.NDArray[np.float32], float] | None = None,
    ) -> None:
        """Shows a picture.

        Args:
            levels: (height, width, 1 or 3) 0..1, encoded for display.
            at: the cursor, 0..1 from left to right and from top to bottom; its surroundings are magnified.
            marks: places that are numbered.
            wiped: another picture, and the share of the width up to which it is shown.
        """
        columns, rows = self.room

        def drawn_of(picture: npt.NDArray[np.float32]) -> Raster:
            able = look.able
            drawn = draw_picture(picture, columns, max(rows - 1, 1), able.colours, able.unicode, at, marks)
            return drawn if at is None else with_magnifier(drawn, picture, at, able.colours, able.unicode)

        drawn = drawn_of(levels)
        if wiped is not None:
            drawn = joined_pictures(drawn_of(wiped[0]), drawn, wiped[1])
        self.titled(title, key, drawn.on(look.ground, look.text), look)
