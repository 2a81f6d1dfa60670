"""The desk strip: names, values, units and keys of the current bank."""

from poise_tui import desk
from poise_tui.actions import COLUMNS, MOVES
from poise_tui.draw.look import Look
from poise_tui.draw.panes.strip import Control, draw_strip
from poise_tui.keys.keymap import Keymap
from poise_tui.session.session import Session
from poise_tui.widgets.pane import Pane


class Controls(Pane):
    """Shows the desk."""

    def show(self, session: Session, keys: Keymap, look: Look, before: str = "") -> None:
        """Shows the controls of the current shot.

        Args:
            before: what is switched off in the picture, so that a nudge would not be seen; empty if nothing is.
        """
        columns, rows = self.size
        slot = session.slot
        controls = []
        for place, action in enumerate(COLUMNS):
            name, value, unit = desk.readout(session.hand, place, slot.decision)
            three = [keys.first(f"{action}.{move}") or "-" for move in MOVES]
            neutral = desk.is_neutral(session.hand, place, slot.decision)
            controls.append(Control(name, value, unit, " ".join(three) if name else "", neutral))
        without, band = before.partition(" ")[0], session.hand.bank > 0
        self.cells(draw_strip(tuple(controls), columns, rows, without, band), look)
