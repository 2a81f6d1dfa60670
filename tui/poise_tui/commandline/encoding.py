"""Encodings by name, of the current shot or of all shots."""

from collections.abc import Callable

from msgspec.structs import replace

from poise.chain.source import resolve_source, transform
from poise.correction import Encoding
from poise.errors import FileError, PoiseError
from poise_tui.commandline.command import Command, Console
from poise_tui.session.session import Session


def _encoding(what: str, everywhere: bool) -> Callable[[Console, str], None]:
    def to(desk: Console, rest: str) -> None:
        value = rest
        if what == "source" and rest.lower().endswith(".clf"):
            pass
        elif what != "range":
            from poise.colour.transfer import names

            value = _matched(rest, names())
        elif rest not in ("full", "narrow"):
            raise PoiseError("a range is full or narrow")
        session = desk.session
        shots = range(len(session.slots)) if everywhere else [session.index]
        if what == "source":
            for index in shots:
                _check_source(session, value, index)
        if what == "clf_gives" and not session.encoding(session.index).from_clf:
            raise PoiseError("the source of this shot is no CLF: name one with :source first")
        for index in shots:
            session.encode(replace(session.encoding(index), **{what: value}), index)
        subject = "the output of the CLF" if what == "clf_gives" else what
        desk.say(f"{subject} is {value}" + (f" for {len(session.slots)} shots" if everywhere else ""))

    return to


def _check_source(session: Session, source: str, index: int) -> None:
    """Raises PoiseError if a source is a CLF that can't be used for a shot."""
    shot = session.slots[index].shot
    try:
        transform(resolve_source(Encoding(source=source), shot.first.parent))
    except PoiseError as fault:
        raise FileError(shot.name, str(fault)) from None


def _matched(text: str, names: tuple[str, ...]) -> str:
    """The name equal to the text, or the only one that contains it."""
    same = [name for name in names if name.casefold() == text.casefold()]
    near = same or [name for name in names if text.casefold() in name.casefold()]
    if len(near) == 1:
        return near[0]
    if not text or not near:
        raise PoiseError(f"no transfer function is called {text!r}; there are {', '.join(names)}")
    raise PoiseError(f"{text!r} could be {', '.join(near)}")


ENCODING: tuple[Command, ...] = (
    Command("source NAME", "the source encoding of this shot, or a CLF in its folder", _encoding("source", False)),
    Command("source-all NAME", "of all shots", _encoding("source", True)),
    Command(
        "clf-gives NAME",
        "the output of the source's CLF: linear, or a transfer function",
        _encoding("clf_gives", False),
    ),
    Command("delivery NAME", "the delivery encoding of this shot", _encoding("delivery", False)),
    Command("delivery-all NAME", "of all shots", _encoding("delivery", True)),
    Command("range full or narrow", "the code range of this shot", _encoding("range", False)),
    Command("range-all full or narrow", "of all shots", _encoding("range", True)),
)
