"""The encoding chooser, the second bank, typed numbers and versions, by keys: screen and sidecar."""

import asyncio
from pathlib import Path

import pytest
from PIL import Image
from sitting import SIZES, drawn, sit, text, until
from skimage import data
from until import until_in

from poise.correction import NEUTRAL, Balance, Correction, Encoding, Levels
from poise.frames import scan
from poise.sidecar import load
from poise_tui.app import Poise
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import keymap
from poise_tui.session.session import Session
from poise_tui.widgets.prompt import Prompt


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
            await pilot.press("@", *"acescct")
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
            await pilot.press("@", *"acescct", "tab", "down", "enter")
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


@pytest.mark.parametrize("size", SIZES)
def test_numbers_are_typed_for_a_column_and_completed_by_tab(pier: Path, size: tuple[int, int]) -> None:
    """Two keys and the number, which replaces the value that stands there; `right` edits that value instead."""

    async def session() -> None:
        app = Poise(Session(scan([pier]).shots), keymap(), Look(Capability(*size, "truecolor", True)))

        def correction() -> Correction:
            return app.session.slot.decision.correction

        async with app.run_test(size=size) as pilot:
            line = app.screen.query_one(Prompt)
            await drawn(pilot)
            await pilot.press("#")
            await until(pilot, "for which column?")
            await pilot.press("q")
            await until(pilot, "red, offset:")
            assert line.value == "0"
            await pilot.press(*"0.01", "enter")
            assert correction() == Correction(balance=Balance(offset=(0.01, 0, 0)))
            await pilot.press("#", "z", "right", "5", "enter")  # edited, not replaced
            assert correction() == Correction(balance=Balance(offset=(0.015, 0, 0)))
            await pilot.press("#", "X")
            await until(pilot, "that key belongs to no column")
            assert not app.session.marked
            await pilot.press("#", "t", *"400", "enter")
            await until(pilot, "warmth goes from -140 to 300, not to 400")
            await pilot.press("#", "i", "escape", "tab", "#", "n", *"0.82", "enter")
            assert correction() == Correction(balance=Balance(offset=(0.015, 0, 0)), levels=Levels(white=0.82))
            await pilot.press(":", *"set whi", "tab")
            assert line.value == "set white point 0.82"
            await until(pilot, "> white point 0.82")
            await pilot.press("tab")
            assert line.value == "set white 0.82"
            await pilot.press("backspace", "5", "enter")
            await until(pilot, "white is 0.85")
            await until(pilot, "suit_02")
            await pilot.press(":", *"set colour 3", "enter")
            await until_in(pilot, lambda: app.screen is not app.screen_stack[0])
            told = " ".join(line.strip() for line in text(pilot))
            assert "set what? one of flare, flare in code, exposure" in told
            assert "such as slope red 1.05" in told  # to its last word, on a screen of its own
            await pilot.press("escape")
            await until(pilot, "suit_02")
            await pilot.press("X", "down", "G", "#", "u", *"0.5", "enter")  # the group gets the same number
            await drawn(pilot)
            await pilot.press("Q")

    asyncio.run(session())
    found = [load(pier / f"suit_0{n}.png.poise.json").correction for n in (1, 2)]
    assert [one.levels for one in found] == [Levels(white=0.85, pivot=0.5), Levels(pivot=0.5)]


def test_warmth_at_its_limit_goes_on_and_says_how(pier: Path) -> None:
    shown = sit(pier, ["=", "=", "=", *["b"] * 5])  # eight steps a press: 140 mired after three and a half
    assert any("warmth ends at -140 mired: from there on red and blue of the highlights move" in line for line in shown)
    correction = load(pier / "suit_01.png.poise.json").correction
    assert correction.light.warmth == -140
    assert correction.balance.slope == (pytest.approx(1.01**-12), 1, pytest.approx(1.01**12))


@pytest.mark.parametrize("size", SIZES)
def test_versions_by_two_keys_and_by_command(pier: Path, size: tuple[int, int]) -> None:
    async def session() -> None:
        app = Poise(Session(scan([pier]).shots), keymap(), Look(Capability(*size, "truecolor", True)))

        def saturation() -> float:
            return app.session.slot.decision.correction.saturation

        async with app.run_test(size=size) as pilot:
            await drawn(pilot)
            await pilot.press("o", "$")
            assert app.screen.query_one(Prompt).value == "version 1"
            await pilot.press(*"cooler", "enter")  # the first letter replaces the name that stands there
            await until(pilot, "kept as cooler")
            await pilot.press("o", "o", "$", "enter")
            await until(pilot, "kept as version 1")
            await pilot.press("o", "!")
            await until(pilot, "version 1/2")
            await pilot.press(*"cool")
            await until(pilot, "> cooler")
            assert (saturation(), app.session.shown.correction.saturation) == (1.08, 1.02)
            await pilot.press("enter")
            await until(pilot, "cooler taken; undo takes it back")
            assert saturation() == 1.02
            await pilot.press("Z", ":", *"version compare cooler version 1", "enter")
            await until(pilot, "wipe: cooler on the left, version 1 on the right")
            await pilot.press("5")
            await until(pilot, "waveform, cooler | version 1")
            await pilot.press("l")  # any decision puts the shot itself on the right again
            await until(pilot, "waveform, cooler | this")
            await pilot.press(":", *"version del", "tab", "tab")
            assert app.screen.query_one(Prompt).value == "version delete version 1"
            await pilot.press("enter", ":", *"version", "enter")
            await until(pilot, "versions: cooler")
            await pilot.press("Q")

    asyncio.run(session())
    found = load(pier / "suit_01.png.poise.json")
    assert {name: one.correction.saturation for name, one in found.versions.items()} == {"cooler": 1.02}
    assert found.correction == NEUTRAL
