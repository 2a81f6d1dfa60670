"""The command line of the app: what can be typed after `:`; one table, from which help is made."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from msgspec.structs import replace

from poise.correction import CONTROLS, Correction, Interval, checked
from poise.correction.controls import COLOURED, MATTE_CONTROLS, OFFSET, POWER, SLOPE
from poise.errors import PoiseError
from poise_tui.actions import Desk
from poise_tui.actions.shots import narrow, nothing
from poise_tui.compare import reference
from poise_tui.desk.column import WHOLE, put
from poise_tui.desk.matte import INSIDE, MATTE
from poise_tui.draw.palette import THEMES, Theme
from poise_tui.edits import keying, shaping, together
from poise_tui.listed import ONLY, ORDERS


class Console(Desk, Protocol):
    """A desk with what only commands reach."""

    def theme(self, theme: Theme) -> None: ...

    def messages(self) -> None:
        """What was said so far."""

    def patches(self) -> None:
        """How far each patch of the chart that was read last is off."""


@dataclass(frozen=True)
class Command:
    """What can be typed.

    Attributes:
        usage: the word and what follows it.
    """

    usage: str
    does: str
    run: Callable[[Console, str], None]

    @property
    def word(self) -> str:
        return self.usage.split()[0]


def run(desk: Console, line: str) -> None:
    """Does what was typed.

    Raises:
        PoiseError: there is no such command, or it can't be done.
    """
    word, _, rest = line.strip().removeprefix(":").strip().partition(" ")
    if not word:
        return
    found = [command for command in COMMANDS if command.word == word]
    if not found:
        raise PoiseError(f"no command is called {word!r}; ? lists them")
    found[0].run(desk, rest.strip())
    desk.changed()


def _go(desk: Console, rest: str) -> None:
    if not rest.isdecimal():
        desk.find(rest)
        return
    listed = desk.session.listing.matching
    if not 1 <= int(rest) <= len(listed):
        raise PoiseError(f"there are shots 1 to {len(listed)}" if listed else nothing(desk.session))
    desk.go(listed[int(rest) - 1])


def _list(desk: Console, rest: str) -> None:
    narrow(desk, text=rest)


def _only(desk: Console, rest: str) -> None:
    if rest not in ONLY:
        raise PoiseError(f"list only what? one of {', '.join(ONLY)}")
    narrow(desk, only=rest)


def _order(desk: Console, rest: str) -> None:
    if rest not in ORDERS:
        raise PoiseError(f"an order is by {', '.join(ORDERS)}")
    narrow(desk, order=rest)


def _frame(desk: Console, rest: str) -> None:
    numbers = desk.session.slot.shot.numbers
    if not numbers:
        raise PoiseError("this shot is a still")
    slot = desk.session.slot
    named = {"first": 0, "last": len(numbers) - 1, "judged": slot.judged}
    place = named.get(rest)
    if place is None and rest.isdecimal() and int(rest) in numbers:
        place = numbers.index(int(rest))
    if place is None:
        raise PoiseError(f"there are frames {numbers[0]} to {numbers[-1]}, and first, last and judged")
    desk.frame(place - slot.frame)


def _set(desk: Console, rest: str) -> None:
    name, _, text = rest.rpartition(" ")
    session = desk.session
    at_matte = session.hand.mode == "matte"
    controls = (*MATTE_CONTROLS, SLOPE, OFFSET, POWER) if at_matte else CONTROLS
    control = next((c for c in controls if name.strip() in (c.name, c.path, c.path.removeprefix("inside."))), None)
    if control is None:
        raise PoiseError(f"set what? one of {', '.join(c.name for c in controls)}, and a value")
    try:
        value = float(text)
    except ValueError:
        raise PoiseError(f"{text!r} is no number") from None
    if not control.low <= value <= control.high:
        raise PoiseError(f"{control.name} goes from {control.low:g} to {control.high:g}, not to {value:g}")
    if control in COLOURED and session.slot.picture and session.slot.picture.grey:
        raise PoiseError(f"a greyscale picture takes no {control.name}: its channels are one")
    channels = control.path.startswith("balance.")
    part = (INSIDE if channels else MATTE) if at_matte else WHOLE
    correction, hand = session.slot.decision.correction, session.hand
    try:
        changed = put(part.get(correction, hand), control.path, (value, value, value) if channels else value)
    except ValueError as fault:
        raise PoiseError(str(fault)) from None
    which = control.path.partition(".")[0]
    range_ = getattr(changed, which) if at_matte else None
    if isinstance(range_, Interval) and range_.low > range_.high:
        raise PoiseError(f"{which} from {range_.low:g} to {range_.high:g} would take nothing: set the other end first")
    session.correct(checked(part.put(correction, hand, changed)))


def _point(desk: Console, rest: str) -> None:
    try:
        x, y = (float(number) for number in rest.split())
    except ValueError:
        raise PoiseError("a point is two numbers, input and output, such as 0.5 0.55") from None
    desk.say(shaping.put(desk.session, x, y))


def _name(desk: Console, rest: str) -> None:
    desk.say(keying.name(desk.session, rest))


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


def _paste(desk: Console, rest: str) -> None:
    parts = tuple(part for part in rest.replace(",", " ").split())
    for part in parts:
        if part not in Correction.__struct_fields__:
            raise PoiseError(f"no part is called {part!r}; there are {', '.join(Correction.__struct_fields__)}")
    desk.session.paste(parts or Correction.__struct_fields__)


def _paste_marked(desk: Console, rest: str) -> None:
    session = desk.session
    if not session.marked:
        raise PoiseError("no shot is marked")
    result = together.paste(session, session.marked)
    text = together.told(session, result, "pasted onto", "the same already", "marked shots")
    desk.say(text or f"pasted onto {result.moved} of {result.asked} marked shots", warning=bool(result.refused))


def _match(desk: Console, rest: str) -> None:
    try:
        strength = float(rest or 1)
    except ValueError:
        strength = -1
    if not 0 <= strength <= 1:
        raise PoiseError("a strength goes from 0 to 1")
    desk.match(strength)


def _reference(desk: Console, rest: str) -> None:
    desk.say(reference.outside(desk.session, Path(rest)) if rest else reference.drop(desk.session))


def _note(desk: Console, rest: str) -> None:
    session = desk.session
    session.decide(replace(session.slot.decision, note=rest[:4096]))


def _state(desk: Console, rest: str) -> None:
    if rest not in ("new", "balanced", "held", "skipped"):
        raise PoiseError("a state is new, balanced, held or skipped")
    desk.session.state(rest)  # type: ignore[arg-type]


def _mine(desk: Console, rest: str) -> None:
    if not desk.session.slot.fault:
        raise PoiseError("nothing is in the way of this shot's sidecar")
    aside = desk.session.keep_mine(desk.session.index)
    fault = desk.session.slot.fault
    if fault:
        raise PoiseError(f"{fault.reason}; what was there is in {aside.name}" if aside else fault.reason)
    desk.say(f"saved; what was there is in {aside.name}" if aside else "saved")


def _theirs(desk: Console, rest: str) -> None:
    taken = desk.session.take_theirs(desk.session.index)
    fault = desk.session.slot.fault
    if fault:
        raise PoiseError(str(fault))
    desk.say("taken over from the sidecar; undo goes back to yours" if taken else "the sidecar holds nothing new")


def _sidecars(desk: Console, rest: str) -> None:
    if not rest:
        raise PoiseError("name a folder for the sidecars")
    try:
        folder = Path(rest).expanduser()
    except RuntimeError:
        raise PoiseError(f"{rest}: there is no such home folder") from None
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise PoiseError(f"{folder}: {fault.strerror}") from None
    desk.session.move_sidecars(folder)
    desk.say(f"sidecars are kept in {folder}; give the same to the commands by --sidecars")


def _theme(desk: Console, rest: str) -> None:
    if rest not in THEMES:
        raise PoiseError(f"a theme is {' or '.join(THEMES)}")
    desk.theme(rest)


COMMANDS: tuple[Command, ...] = (
    Command("go NUMBER or NAME", "to a shot", _go),
    Command("list TEXT", "list only shots with a text in their name; all without one", _list),
    Command("only WHICH", f"list only {', '.join(ONLY[1:])}, or all", _only),
    Command("order BY", f"the order of the list: {', '.join(ORDERS)}", _order),
    Command("frame NUMBER", "to a frame of a sequence; also first, last, judged", _frame),
    Command("set CONTROL VALUE", "a control to an exact value; of the matte in hand where its table is open", _set),
    Command("point INPUT OUTPUT", "a point of the curve in hand, where its table is open", _point),
    Command("name TEXT", "the name of the matte in hand, where its table is open", _name),
    Command("source NAME", "the source encoding of this shot", _encoding("source", False)),
    Command("source-all NAME", "of all shots", _encoding("source", True)),
    Command("delivery NAME", "the delivery encoding of this shot", _encoding("delivery", False)),
    Command("delivery-all NAME", "of all shots", _encoding("delivery", True)),
    Command("range full or narrow", "the code range of this shot", _encoding("range", False)),
    Command("range-all full or narrow", "of all shots", _encoding("range", True)),
    Command("paste PARTS", "some parts of the copied correction: light, balance, levels, ...", _paste),
    Command("paste-marked", "what was copied onto all marked shots", _paste_marked),
    Command("match STRENGTH", "part of the way to the reference; 1 is all of it", _match),
    Command("reference FILE", "any picture becomes the reference; without a file there is none", _reference),
    Command("patches", "how far each patch of the chart that was read last is off", lambda desk, rest: desk.patches()),
    Command("note TEXT", "a note on this shot", _note),
    Command("state STATE", "new, balanced, held or skipped, without going on", _state),
    Command("mine", "keep your version, where another stands in the sidecar", _mine),
    Command("theirs", "take the version that stands in the sidecar", _theirs),
    Command("sidecars FOLDER", "keep sidecars in another folder", _sidecars),
    Command("theme dark or light", "the colours of the app", _theme),
    Command("messages", "what was said so far, in full", lambda desk, rest: desk.messages()),
    Command("help", "help", lambda desk, rest: desk.help()),
    Command("quit", "quit; everything is saved", lambda desk, rest: desk.quit()),
)
