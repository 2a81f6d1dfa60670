"""What each table shows in the middle of the desk screen."""

from collections.abc import Mapping

from poise_tui.desk import Mode
from poise_tui.screens import balance, curve, matte, pick
from poise_tui.screens.faces import Show

TABLES: Mapping[Mode, Show] = {
    "balance": balance.show,
    "pick": pick.show,
    "matte": matte.show,
    "curve": curve.show,
    "drift": balance.show,
}
