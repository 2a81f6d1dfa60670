"""Versions of the current shot's correction, by name."""

from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console
from poise_tui.edits import versions


def _version(desk: Console, rest: str) -> None:
    session = desk.session
    way, _, name = rest.partition(" ")
    name, there = name.strip(), session.slot.decision.versions
    if not rest:
        latest = ", ".join(there) or "none yet"
        desk.say(f"versions: {latest}")
    elif way not in versions.WAYS:
        raise PoiseError(f"version what? one of {', '.join(versions.WAYS)}, and a name")
    elif not name and way != "keep":
        raise PoiseError(f"{way} which version? {', '.join(there) or 'there is none yet'}")
    elif way == "compare" and name not in there:
        desk.say(versions.compare(session, *_two(name, tuple(there))))
    else:
        desk.say(versions.WAYS[way](session, name or versions.proposed(session)))


def _two(text: str, there: tuple[str, ...]) -> tuple[str, str]:
    """Two names that a text consists of; a name can have spaces.

    Example:
        >>> _two("cooler version 1", ("cooler", "version 1"))
        ('cooler', 'version 1')
    """
    for one in there:
        if text.startswith(f"{one} "):
            return one, text.removeprefix(one).strip()
    return text, ""


def _choices(desk: Console) -> list[str]:
    there = desk.session.slot.decision.versions
    return ["keep ", *(f"{way} {name}" for way in ("take", "compare", "delete") for name in there)]


VERSIONS: tuple[Command, ...] = (
    Command(
        "version WAY NAME",
        "keep, take, delete a version of this shot; compare one with the shot, or two, by wipe; none: list them",
        _version,
        _choices,
    ),
)
