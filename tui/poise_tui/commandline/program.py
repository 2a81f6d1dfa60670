"""The program itself: theme, faults, messages, manual, help and quitting."""

from poise.errors import PoiseError
from poise.manual import TOPICS
from poise_tui.commandline.command import Command, Console
from poise_tui.draw.palette import THEMES


def _theme(desk: Console, rest: str) -> None:
    if rest not in THEMES:
        raise PoiseError(f"a theme is {' or '.join(THEMES)}")
    desk.theme(rest)


PROGRAM: tuple[Command, ...] = (
    Command("theme dark or light", "the colours of the app", _theme, lambda desk: THEMES),
    Command("faults", "the delivery faults of this shot, in full", lambda desk, rest: desk.faults()),
    Command("unsure", "the shots that auto was unsure of or held back on, and why", lambda desk, rest: desk.unsure()),
    Command("messages", "all messages so far, in full", lambda desk, rest: desk.messages()),
    Command(
        "manual TOPIC",
        "a page of the manual; its topics without TOPIC",
        lambda desk, rest: desk.manual(rest),
        lambda desk: list(TOPICS),
    ),
    Command("help", "help", lambda desk, rest: desk.help()),
    Command("quit", "quit; everything is saved", lambda desk, rest: desk.quit()),
)
