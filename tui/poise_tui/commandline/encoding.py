"""Encodings by name, of the current shot or of all shots."""

from collections.abc import Callable
from typing import get_args

from poise.correction.model import Matrix
from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console
from poise_tui.desk.functions import COMMON
from poise_tui.edits import group

TAGGED = "tagged"
MATRICES = (*get_args(Matrix), TAGGED)


def _encoding(what: str, everywhere: bool) -> Callable[[Console, str], None]:
    def to(desk: Console, rest: str) -> None:
        value = rest
        if what == "matrix":
            _known(rest)
        elif what == "source" and rest.lower().endswith(".clf"):
            pass
        elif what != "range":
            from poise.colour.transfer import names

            value = _matched(rest, names())
        elif rest not in ("full", "narrow"):
            raise PoiseError("a range is full or narrow")
        session = desk.session
        if what == "clf_gives" and not session.encoding(session.index).from_clf:
            raise PoiseError("the source of this shot is no CLF: name one with :source first")
        named = None if (what, value) == ("matrix", TAGGED) else value
        result = group.encode(session, {what: named}, range(len(session.slots)) if everywhere else [session.index])
        said = f"{'the output of the CLF' if what == 'clf_gives' else what} is {value}"
        refused = group.summary(session, result, f"{said} for", "as it was") if result.refused else ""
        desk.say(refused or said + (f" for {result.asked} shots" if everywhere else ""), warning=bool(refused))

    return to


def _known(matrix: str) -> None:
    """Raises PoiseError if there is no such matrix."""
    if matrix not in MATRICES:
        raise PoiseError(f"a matrix is {', '.join(MATRICES[:-1])}, or {TAGGED}: that of the clip's own tags")


def _matched(text: str, names: tuple[str, ...]) -> str:
    """The name equal to the text, or the only one that contains it."""
    same = [name for name in names if name.casefold() == text.casefold()]
    near = same or [name for name in names if text.casefold() in name.casefold()]
    if len(near) == 1:
        return near[0]
    if not text or not near:
        raise PoiseError(f"no transfer function is called {text!r}; there are {', '.join(names)}")
    raise PoiseError(f"{text!r} could be {', '.join(near)}")


def _names(desk: Console) -> tuple[str, ...]:
    return desk.names or COMMON


ENCODING: tuple[Command, ...] = (
    Command(
        "source NAME", "the source encoding of this shot, or a CLF in its folder", _encoding("source", False), _names
    ),
    Command("source-all NAME", "of all shots", _encoding("source", True), _names),
    Command(
        "clf-gives NAME",
        "the output of the source's CLF: linear, or a transfer function",
        _encoding("clf_gives", False),
        _names,
    ),
    Command("delivery NAME", "the delivery encoding of this shot", _encoding("delivery", False), _names),
    Command("delivery-all NAME", "of all shots", _encoding("delivery", True), _names),
    Command(
        "range full or narrow",
        "the code range of this shot",
        _encoding("range", False),
        lambda desk: ("full", "narrow"),
    ),
    Command(
        "matrix NAME",
        f"the matrix of the Y'CbCr of this clip: {', '.join(MATRICES)}",
        _encoding("matrix", False),
        lambda desk: MATRICES,
    ),
    Command("range-all full or narrow", "of all shots", _encoding("range", True), lambda desk: ("full", "narrow")),
)
