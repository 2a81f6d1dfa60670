"""Exact values of controls, curve points, and names of mattes."""

from collections.abc import Sequence

from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console
from poise_tui.desk.settings import Setting, number, settings
from poise_tui.edits import keying, shaping


def _set(desk: Console, rest: str) -> None:
    session = desk.session
    setting, words = _named(rest, settings(session.hand))
    correction, hand = session.slot.decision.correction, session.hand
    if not words:
        raise PoiseError(f"{setting.name} is {setting.text(correction, hand)} now; type another after it")
    values = [number(word) for word in words]
    grey = session.slot.picture is not None and session.slot.picture.grey
    if grey and (setting.coloured or len(set(values)) > 1):
        raise PoiseError(f"a greyscale picture takes no {setting.name}: it has one channel")
    changed = setting.written(correction, hand, values)
    moved = session.correct(changed)
    desk.say(f"{setting.name} {'is' if moved else 'was already'} {setting.text(changed, hand)}")


def _named(text: str, every: Sequence[Setting]) -> tuple[Setting, list[str]]:
    """The setting that a text begins with, and the words after it."""
    words = text.split()
    for count in range(len(words), 0, -1):
        name = " ".join(words[:count]).casefold()
        for setting in every:
            if name in (setting.name, setting.path, setting.path.removeprefix("inside.")):
                return setting, words[count:]
    names = ", ".join(one.name for one in every if not one.channel)
    three = ", ".join(one.name.removesuffix(" red") for one in every if one.channel and one.name.endswith(" red"))
    raise PoiseError(f"set what? one of {names}, and a value; {three} also of one channel, such as slope red 1.05")


def _values(desk: Console) -> list[str]:
    """What can be set, each with the value that it has."""
    correction, hand = desk.session.slot.decision.correction, desk.session.hand
    try:
        return [f"{one.name} {one.text(correction, hand)}" for one in settings(hand)]
    except PoiseError:  # there is no matte yet
        return []


def _point(desk: Console, rest: str) -> None:
    try:
        x, y = (float(number) for number in rest.split())
    except ValueError:
        raise PoiseError("a point is two numbers, input and output, such as 0.5 0.55") from None
    desk.say(shaping.put(desk.session, x, y))


def _name(desk: Console, rest: str) -> None:
    desk.say(keying.name(desk.session, rest))


SETTING: tuple[Command, ...] = (
    Command(
        "set NAME VALUE",
        "set exactly what the desk shows, or a control: red 0.01, slope 1.05 1 0.98, slope red 1.05; "
        "in matte mode, of the current matte",
        _set,
        _values,
    ),
    Command("point INPUT OUTPUT", "put a point on the current curve, in curve mode", _point),
    Command("name TEXT", "name the current matte, in matte mode", _name),
)
