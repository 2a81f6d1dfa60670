"""What each mode shows in the middle of the desk screen; the run of frames and the reel are panes of their own."""

from collections.abc import Mapping

from poise_tui.desk import Mode
from poise_tui.screens import balance, curve, matte, pick
from poise_tui.screens.panes import Show

MODES: Mapping[Mode, Show] = {
    "balance": balance.show,
    "pick": pick.show,
    "matte": matte.show,
    "curve": curve.show,
    "drift": balance.show,
    "reel": balance.show,
}
