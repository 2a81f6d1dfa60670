"""A sitting at the app by keys, through textual's pilot."""

import asyncio
from collections.abc import Sequence
from pathlib import Path

from textual.pilot import Pilot

from poise.frames import scan
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import CellView

WAIT = "wait:"
SIZES = [(120, 40), (80, 24)]
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
    for _ in range(400):
        if any(word in line for line in text(pilot)):
            return
        await pilot.pause(0.02)
    raise AssertionError(f"{word!r} never came: {text(pilot)}")


async def drawn(pilot: Pilot[int]) -> None:
    """The picture was read and measured."""
    for _ in range(400):
        if not any(word in line for line in text(pilot) for word in ("reading ...", "measuring ...")):
            return
        await pilot.pause(0.02)


def turns(folder: Path, *turns: tuple[Sequence[str], str]) -> None:
    """Presses keys in a poor terminal, turn by turn, and waits for words on the screen, parted by |; quits."""

    async def session() -> None:
        app = Poise(Session(scan([folder]).shots), keymap(), POOR)
        async with app.run_test(size=(80, 24)) as pilot:
            for keys, words in turns:
                await pilot.press(*keys)
                for word in words.split("|"):
                    await until(pilot, word)
                assert all(line.isascii() for line in text(pilot))
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(session())
