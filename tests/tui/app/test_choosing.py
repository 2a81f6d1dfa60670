"""The encoding chooser and the second bank by keys, as they stand on the screen and in the sidecar."""

import asyncio
from pathlib import Path

import pytest
from PIL import Image
from sitting import SIZES, drawn, sit, text, until
from skimage import data

from poise.correction import NEUTRAL, Encoding
from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    """NASA's portrait of Eileen Collins (skimage.data), twice, small."""
    picture = Image.fromarray(data.astronaut()[::4, ::4])
    for name in ("suit_01.png", "suit_02.png"):
        picture.save(tmp_path / name)
    return tmp_path


@pytest.mark.parametrize("size", SIZES)
def test_an_encoding_is_chosen_by_a_part_of_its_name(pier: Path, size: tuple[int, int]) -> None:
    """What is chosen changes readings at once; escape leaves all as it was; enter takes both parts."""

    async def session() -> None:
        app = Poise(Session(scan([pier]).shots), keymap(), Look(Capability(*size, "truecolor", True)))

        def median() -> float:
            return float(next(line for line in text(pilot) if line.startswith("Y ")).split()[2])

        async with app.run_test(size=size) as pilot:
            await drawn(pilot)
            before = median()
            await pilot.press("&", *"acescct")
            await until(pilot, "> ACEScct")
            await drawn(pilot)
            await until(pilot, "ACEScct > sRGB")
            assert abs(median() - before) > 5
            assert not any("suit_02" in line for line in text(pilot))  # the list stands where the shots stood
            await pilot.press("escape")
            await until(pilot, "suit_02")
            await drawn(pilot)
            assert median() == pytest.approx(before, abs=1)  # a rough count differs a little
            assert app.session.slot.decision.encoding is None
            await pilot.press("&", *"acescct", "tab", "down", "enter")
            await until(pilot, "source is ACEScct, delivery is ITU-R BT.709")
            await pilot.press("Q")

    asyncio.run(session())
    found = load(pier / "suit_01.png.poise.json")
    assert (found.encoding, found.correction) == (Encoding("ACEScct", "ITU-R BT.709"), NEUTRAL)


@pytest.mark.parametrize("size", SIZES)
def test_the_second_bank_has_a_look_and_hints_of_its_own(pier: Path, size: tuple[int, int]) -> None:
    first, second = sit(pier, [], size), sit(pier, ["tab", "t", "t", "t"], size)
    assert any("balance 1/2  whole trace" in line for line in first)
    assert any("flare, levels 2/2  step x1" in line for line in second)
    assert any("r v flare" in line and "t b black point" in line and "tab first bank" in line for line in second)
    assert not any("black point" in line for line in first)
    assert load(pier / "suit_01.png.poise.json").correction.levels.black == pytest.approx(-0.015)  # the trace goes up
    told = sit(pier, ["tab", "1"], size)
    assert any("no column of this bank has a zone" in line for line in told)
