"""The instruments under keys: their zoom, the rows at their ends, and the magnifier."""

import asyncio
from pathlib import Path

import numpy as np
from sixty import reel
from textual.pilot import Pilot
from until import until_in

from poise.frames import Depth, Frame, scan, write
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import CellView


def pane(app: Poise, name: str) -> list[str]:
    shown = app.screen.query_one(f"#{name}", CellView)._shown
    return shown.lines() if shown else []


async def until_titled(pilot: Pilot[int], name: str, title: str) -> list[str]:
    app = pilot.app
    assert isinstance(app, Poise)
    await until_in(pilot, lambda: (pane(app, name) or [""])[0].startswith(title), lambda: str(pane(app, name)))
    return pane(app, name)


def figures(lines: list[str]) -> list[int]:
    return [int(line[:3]) for line in lines[1:] if line[:3].strip().lstrip("-").isdigit()]


def test_a_key_zooms_the_scale_of_every_instrument_and_another_the_vectorscope(tmp_path: Path) -> None:
    folder = reel(tmp_path / "reel")

    async def sit() -> None:
        app = Poise(Session(scan([folder]).shots), keymap(), Look(Capability(120, 40, "truecolor", True)))
        async with app.run_test(size=(120, 40)) as pilot:
            await until_in(pilot, lambda: figures(pane(app, "parade")) == [100, 75, 50, 25, 0], lambda: "measuring")
            for part, first in (("bottom 20 %", 20), ("middle 20 %", 60), ("top 20 %", 102)):
                await pilot.press("%")
                lines = await until_titled(pilot, "waveform", f"waveform {part} 5")
                assert figures(lines)[0] == first
                assert set(np.diff(figures(lines)).tolist()) == {-2}
                assert figures(pane(app, "parade")) == figures(lines)
                assert figures(pane(app, "histogram")) == figures(lines)
            await pilot.press("T", "down", "E")
            assert "top 20 %" in (await until_titled(pilot, "reel", "reel 1"))[0]
            assert figures(pane(app, "reel"))[0] == 102
            await pilot.press("E", "%")
            # another shot has the reference for a ghost
            await until_titled(pilot, "waveform", "waveform, ghost")
            for gain in (2, 4):
                await pilot.press("&")
                lines = await until_titled(pilot, "vectorscope", f"vectorscope x{gain} 7")
                assert any(str(20 // gain) in line for line in lines[1:])
            await pilot.press("&")
            await until_titled(pilot, "vectorscope", "vectorscope 7")
            await pilot.press("Q")

    asyncio.run(sit())


def test_what_is_clipped_has_a_row_and_the_cursor_a_magnifier(tmp_path: Path) -> None:
    """A quarter of the picture has full red, and half of it no blue."""
    codes = np.full((270, 480, 3), 120, np.uint8)
    codes[:, :120, 0], codes[:, 240:, 2] = 255, 0
    write(tmp_path / "quay_01.png", Frame(codes, Depth.U8))

    async def sit() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), Look(Capability(80, 24, "truecolor", True)))
        async with app.run_test(size=(80, 24)) as pilot:
            await until_in(pilot, lambda: bool(figures(pane(app, "parade"))), lambda: "measuring")
            lines = pane(app, "parade")
            # 17 cells a channel: 4.25 of them full of pixels at 100 %, half of them at 0 %
            assert lines[1].rstrip() == f"  \u2265 {4 * chr(0x28FF)}\u2846{8 * ' '} 25%"
            assert lines[17].rstrip() == f"  \u2264 {36 * ' '}50%{5 * ' '}\u28b8{8 * chr(0x28FF)}"
            assert [line[3] for line in lines[1:]].count("\u25b8") == 4  # the six limits of the baseline
            await pilot.press("N")
            await until_in(pilot, lambda: bool(pane(app, "picture")), lambda: str(pane(app, "picture")))
            await pilot.press("right", "right")
            await until_in(
                pilot, lambda: "".join(pane(app, "picture")).count("\u2502") == 4, lambda: str(pane(app, "picture"))
            )
            await pilot.press("Q")

    asyncio.run(sit())


def test_one_per_cent_can_be_read_at_80_x_24(tmp_path: Path) -> None:
    """Stripes of 8, 9 and 10 % from left to right on the parade, the instrument shown there: three steps of dots."""
    stripes = np.repeat(np.array([[[8], [9], [10]]]), 60, axis=1).repeat(60, axis=0).repeat(3, axis=2)
    write(tmp_path / "quay_01.png", Frame(np.rint(stripes / 100 * 65535).astype(np.uint16), Depth.U16))

    async def sit() -> None:
        app = Poise(Session(scan([tmp_path]).shots), keymap(), Look(Capability(80, 24, "truecolor", True)))
        async with app.run_test(size=(80, 24)) as pilot:
            await until_in(pilot, lambda: bool(figures(pane(app, "parade"))), lambda: "measuring")
            await pilot.press("%")
            lines = await until_titled(pilot, "parade", "parade bottom 20 %"[:17])
            red = [line[4 : 4 + 17] for line in lines[1:]]
            dots = [rows_of_line([line[column] for line in red]) for column in (2, 8, 14)]
            assert dots[0] - dots[1] in (2, 3)
            assert dots[1] - dots[2] in (2, 3)
            await pilot.press("Q")

    asyncio.run(sit())


def rows_of_line(glyphs: list[str]) -> int:
    """The row of dots of a level line, two dots side by side, in a column of cells; the graticule has one a cell.

    The Unicode Standard numbers the dots of a braille pattern 1 2 3 7 down the left and 4 5 6 8 down the right.
    """
    for cell, glyph in enumerate(glyphs):
        for row, mask in enumerate((0x09, 0x12, 0x24, 0xC0)):
            if glyph > "\u2800" and (ord(glyph) - 0x2800) & mask == mask:
                return 4 * cell + row
    raise AssertionError(glyphs)
