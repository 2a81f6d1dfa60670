"""What one shot gives to others: the clipboard and the reference; and the patches of a chart."""

from pathlib import Path

from poise.correction import Correction
from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console
from poise_tui.compare import reference
from poise_tui.edits import group


def _paste(desk: Console, rest: str) -> None:
    parts = tuple(part for part in rest.replace(",", " ").split())
    for part in parts:
        if part not in Correction.__struct_fields__:
            raise PoiseError(f"no part is called {part!r}; there are {', '.join(Correction.__struct_fields__)}")
    group.paste(desk.session, parts or Correction.__struct_fields__)


def _paste_marked(desk: Console, rest: str) -> None:
    session = desk.session
    if not session.marked:
        raise PoiseError("no shot is marked")
    result = group.paste(session, onto=session.marked)
    text = group.summary(session, result, "pasted onto", "already the same", "marked shots")
    desk.say(text or f"pasted onto {result.moved} of {result.asked} marked shots", warning=bool(result.refused))


def _match(desk: Console, rest: str) -> None:
    try:
        strength = float(rest or 1)
    except ValueError:
        strength = -1
    if not 0 <= strength <= 1:
        raise PoiseError("a strength goes from 0 to 1")
    desk.match(strength)


def _as(desk: Console, rest: str) -> None:
    if rest not in ("cdl", "all"):
        raise PoiseError("as what? cdl, or all")
    desk.session.ten = rest == "cdl"
    within = "slope, offset, power and saturation" if desk.session.ten else "all parts of a correction"
    desk.say(f"auto and match set {within}")


def _reference(desk: Console, rest: str) -> None:
    desk.say(reference.outside(desk.session, Path(rest)) if rest else reference.drop(desk.session))


SHARING: tuple[Command, ...] = (
    Command("paste PARTS", "paste parts of the copied correction: light, balance, levels, ...", _paste),
    Command("paste-marked", "paste what was copied onto all marked shots", _paste_marked),
    Command("match STRENGTH", "match part of the way to the reference; 1 is all the way", _match),
    Command("as cdl or all", "auto and match set slope, offset, power and saturation only, for a CDL; or all", _as),
    Command("reference FILE", "make any picture the reference; without FILE, drop it", _reference),
    Command("patches", "the error of each patch of the last chart read", lambda desk, rest: desk.patches()),
)
