"""A sitting at the app by keys, through textual's pilot."""

import asyncio
from collections.abc import Sequence
from pathlib import Path

import pytest
from textual.pilot import Pilot
from until import until_in

from poise.frames import scan
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import CellView

WAIT = "wait:"
READ = "every pixel of the picture in hand was read"
"""Among the words that `turns` waits for, one that is on no screen."""
SIZES = [(120, 40), pytest.param((80, 24), marks=pytest.mark.thorough)]
POOR = Look(Capability(80, 24, "standard", False))
"""16 colours and plain ASCII."""


def sit(folder: Path, keys: list[str], size: tuple[int, int] = (120, 40), then: str = "") -> list[str]:
    """Presses keys in the app, quits it, and says what its panes showed before.

    Args:
        keys: `wait:TEXT` among them waits for a text.
        then: what is waited for before that.
    """
    shown: list[str] = []

    async def session() -> None:
        app = Poise(Session(scan([folder]).shots), keymap(), Look(Capability(*size, "truecolor", True)))
        async with app.run_test(size=size) as pilot:
            await until(pilot, "blk wht" if size[0] >= 90 else "shots")
            for key in keys:
                if key.startswith(WAIT):
                    await until(pilot, key.removeprefix(WAIT))
                    continue
                await pilot.press(key)
                await drawn(pilot)
            if then:
                await until(pilot, then)
            shown.extend(text(pilot))
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())
    return shown


def text(pilot: Pilot[int]) -> list[str]:
    panes = [pane for pane in pilot.app.screen.query(CellView) if pane._shown and pane.place.area]
    return [line.rstrip() for pane in panes for line in pane._shown.lines()]  # type: ignore[union-attr]


async def until(pilot: Pilot[int], word: str) -> None:
    """A word stands on the screen."""
    await until_in(pilot, lambda: any(word in line for line in text(pilot)), lambda: f"{word!r}; {text(pilot)}")


async def drawn(pilot: Pilot[int]) -> None:
    """The picture was read and measured, and what the last key asked for is on the screen."""
    unready = ("reading ...", "measuring ...")
    for _ in range(3):  # a key becomes a message of a line to type on, that a call of the screen, that a drawing
        await pilot.pause(0)
    desk = pilot.app.screen_stack[0]
    viewer = desk._coordinator.viewer  # type: ignore[attr-defined]

    def answered() -> bool:
        made = viewer._answered == viewer.asked and not viewer.busy and not desk._drawing  # type: ignore[attr-defined]
        return made and not any(word in line for line in text(pilot) for word in unready)

    await until_in(pilot, answered, lambda: text(pilot))


def turns(folder: Path, *turns: tuple[Sequence[str], str]) -> None:
    """Presses keys in a poor terminal, turn by turn, and waits for words on the screen, parted by |; quits."""

    async def session() -> None:
        app = Poise(Session(scan([folder]).shots), keymap(), POOR)
        async with app.run_test(size=(80, 24)) as pilot:
            for keys, words in turns:
                await pilot.press(*keys)
                for word in words.split("|"):
                    if word == READ:
                        viewer = pilot.app.screen_stack[0]._coordinator.viewer  # type: ignore[attr-defined]
                        await until_in(pilot, lambda: viewer.exact)  # noqa: B023, waited for at once
                    else:
                        await until(pilot, word)
                assert all(line.isascii() for line in text(pilot))
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())
