"""Encodings by name, of the shot in hand or of all."""

from collections.abc import Callable

from msgspec.structs import replace

from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console


def _encoding(what: str, everywhere: bool) -> Callable[[Console, str], None]:
    def to(desk: Console, rest: str) -> None:
        value = rest
        if what != "range":
            from poise.colour.transfer import names

            value = _matched(rest, names())
        elif rest not in ("full", "narrow"):
            raise PoiseError("a range is full or narrow")
        session = desk.session
        shots = range(len(session.slots)) if everywhere else [session.index]
        for index in shots:
            session.encode(replace(session.encoding(index), **{what: value}), index)
        desk.say(f"{what} is {value}" + (f" for {len(session.slots)} shots" if everywhere else ""))

    return to


def _matched(text: str, names: tuple[str, ...]) -> str:
    """A name in full, or the only one that holds the text."""
    same = [name for name in names if name.casefold() == text.casefold()]
    near = same or [name for name in names if text.casefold() in name.casefold()]
    if len(near) == 1:
        return near[0]
    if not text or not near:
        raise PoiseError(f"no transfer function is called {text!r}; there are {', '.join(names)}")
    raise PoiseError(f"{text!r} may be {', '.join(near)}")


ENCODING: tuple[Command, ...] = (
    Command("source NAME", "the source encoding of this shot", _encoding("source", False)),
    Command("source-all NAME", "of all shots", _encoding("source", True)),
    Command("delivery NAME", "the delivery encoding of this shot", _encoding("delivery", False)),
    Command("delivery-all NAME", "of all shots", _encoding("delivery", True)),
    Command("range full or narrow", "the code range of this shot", _encoding("range", False)),
    Command("range-all full or narrow", "of all shots", _encoding("range", True)),
)
