"""Actions that zoom the instruments: the level scale, and the vectorscope about neutral."""

from poise_tui.actions.registry import Action, Desk
from poise_tui.desk import GAINS, SCALES


def _scale(desk: Desk) -> None:
    place = (desk.session.hand.scale + 1) % len(SCALES)
    desk.session.hold(scale=place)
    desk.say(f"scale: {SCALES[place][0]}")


def _vectorscope(desk: Desk) -> None:
    gain = GAINS[(GAINS.index(desk.session.hand.gain) + 1) % len(GAINS)]
    desk.session.hold(gain=gain)
    desk.say(f"vectorscope: x{gain} about neutral" if gain > 1 else "vectorscope: whole")


ZOOM: tuple[Action, ...] = (
    Action("zoom.scale", "see", "zoom the level scale: whole, bottom, middle, top 20 %", _scale),
    Action("zoom.vectorscope", "see", "zoom the vectorscope about neutral: x1, x2, x4", _vectorscope),
)
