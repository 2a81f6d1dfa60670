"""What views send, judged by pyte, a terminal emulator: a layout drawn in part leaves nothing of other views."""

import asyncio
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sitting import drawn
from terminals import Emulated
from until import until_in

from poise.frames import scan
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session
from poise_tui.widgets.prompt import Prompt

SIZE = (200, 60)


def shown(sent: list[str]) -> str:
    screen = Emulated(*SIZE)
    screen.feed("".join(sent).encode())
    return str(screen)


def test_a_view_that_comes_back_after_another_had_its_place_is_sent_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Curve and parade share a place; textual may arrange anew before it repaints, and then repaints only in part."""
    ramp = np.linspace(0, 255, 64, dtype=np.uint8) * np.ones((36, 1), np.uint8)
    Image.fromarray(np.dstack([ramp.astype(np.uint8)] * 3)).save(tmp_path / "quay.png")
    sent: list[str] = []

    async def sit() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), Look(Capability(*SIZE, "truecolor", True)))
        async with app.run_test(size=SIZE) as pilot:
            assert app._driver is not None
            monkeypatch.setattr(type(app._driver), "is_headless", False)
            monkeypatch.setattr(app._driver, "write", sent.append)
            await pilot.press("L")
            await until_in(pilot, lambda: "curve of master" in shown(sent))
            await drawn(pilot)
            app.session.work("balance")
            app.screen.query_one(Prompt).refresh(layout=True)
            app.screen.changed()  # type: ignore[attr-defined]
            await until_in(pilot, lambda: "vectorscope" in shown(sent))
            await drawn(pilot)
            before = len(sent)
            await pilot.press("ctrl+l")
            await until_in(pilot, lambda: "vectorscope" in shown(sent[before:]))
            assert shown(sent[:before]) == shown(sent[before:])
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())
