"""The picture: a thumbnail to know the shot by, never to judge it by."""

import numpy as np
import numpy.typing as npt

from poise_tui.draw.look import Look
from poise_tui.draw.picture import draw_picture
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
    ) -> None:
        """Show a picture.

        Args:
            levels: (height, width, 1 or 3) 0..1, encoded for display.
            at: of the cursor, 0..1 from left to right and from top to bottom.
        """
        columns, rows = self.room
        drawn = draw_picture(levels, columns, max(rows - 1, 1), look.able.colours, look.able.unicode, at)
        self.titled(title, key, drawn.on(look.ground, look.text), look)
