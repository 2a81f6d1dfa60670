"""The command line of the app: what can be typed after `:`; one table, from which help is made."""

from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console
from poise_tui.commandline.deciding import DECIDING
from poise_tui.commandline.encoding import ENCODING
from poise_tui.commandline.finding import FINDING
from poise_tui.commandline.program import PROGRAM
from poise_tui.commandline.setting import SETTING
from poise_tui.commandline.sharing import SHARING
from poise_tui.commandline.versions import VERSIONS

__all__ = ["COMMANDS", "Command", "Console", "completions", "run"]

COMMANDS: tuple[Command, ...] = (*FINDING, *SETTING, *ENCODING, *SHARING, *DECIDING, *VERSIONS, *PROGRAM)


def completions(desk: Console, line: str) -> list[str]:
    """The lines that a typed line can become: those that begin with it first, then those that contain its last part.

    Example:
        completions(desk, "or")  # ["order "]
    """
    word, space, rest = line.lstrip(" :").partition(" ")
    if not space:
        return [command.word + " " for command in COMMANDS if command.word.startswith(word)]
    wanted = rest.casefold().strip()
    every = [choice for command in COMMANDS if command.word == word for choice in command.choices(desk)]
    begin = [choice for choice in every if choice.casefold().startswith(wanted)]
    within = [choice for choice in every if len(wanted) > 1 and wanted in choice.casefold() and choice not in begin]
    return [f"{word} {choice}" for choice in (*begin, *within)]


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
