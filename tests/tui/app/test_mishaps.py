"""What goes wrong around the app while it is open: its files vanish, change, or can't be written."""

import json
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from terminals import KEYS, Pty
from until import until

from poise.correction import Correction
from poise.frames import Depth, Frame, write
from poise.sidecar import load

APP = [sys.executable, "-c", "from poise.commands import main; main()"]
FIRST = "pier_1.png.poise.json"
HELD = 300


def picture(level: int) -> Frame:
    """A flat grey of a level."""
    return Frame(np.full((36, 64, 3), level, np.uint8), Depth.U8)


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    folder = tmp_path / "pier"
    folder.mkdir()
    for number in (1, 2, 3):
        write(folder / f"pier_{number}.png", picture(64))
    return folder


@contextmanager
def desk(folder: Path, code: int = 0, program: str = APP[-1]) -> Iterator[Pty]:
    """The app, open; quit at the end, with an exit code."""
    with Pty([*APP[:-1], program, str(folder)], 100, 32) as pty:
        pty.wait_for("undo 0")
        yield pty
        pty.send("Q")
        assert pty.wait() == code, str(pty.screen())


def saturation(folder: Path, sidecar: str = FIRST) -> float:
    return load(folder / sidecar).correction.saturation


def test_a_key_held_down_ends_on_the_exact_sum(pier: Path) -> None:
    """300 keys in 3 s; the very first of them has colour-science imported, which takes a second by itself."""
    with desk(pier) as pty:
        begun = time.monotonic()
        for number, key in enumerate("uuumm" * (HELD // 5)):
            time.sleep(max(0.0, begun + number * 3 / HELD - time.monotonic()))
            pty.send(key)
    # 180 up and 120 down, a twelfth of a stop each
    assert load(pier / FIRST).correction.light.exposure == pytest.approx(60 / 12, abs=1e-9)


GATE = """
import importlib.abc, sys, time
from pathlib import Path

class Gate(importlib.abc.MetaPathFinder):
    def find_spec(self, name, *_):
        while name == "colour" and not Path({!r}).exists():
            time.sleep(0.01)

sys.meta_path.insert(0, Gate())
"""
"""An import of colour-science, which takes a second or more, that takes until a file is there."""


def test_keys_are_answered_while_colour_science_is_imported(pier: Path, tmp_path: Path) -> None:
    gate = tmp_path / "gate"
    with desk(pier, program=GATE.format(str(gate)) + APP[-1]) as pty:
        for number in range(1, 9):
            pty.send("u")
            pty.wait_for(f"{number / 12:+.2f}")
        gate.touch()
        pty.send("o")
        pty.wait_for("1.020")
    assert load(pier / FIRST).correction.light.exposure == pytest.approx(8 / 12, abs=1e-9)


def test_a_command_typed_in_one_go_is_taken(pier: Path) -> None:
    with desk(pier) as pty:
        pty.send(":go 3" + KEYS["enter"] + "o")
        pty.wait_for("undo 1")
        assert pty.screen().shows("shots 3/3")
    assert saturation(pier, "pier_3.png.poise.json") == pytest.approx(1.02)


def test_keys_typed_behind_those_that_open_and_close_help_go_where_they_belong(pier: Path) -> None:
    with desk(pier) as pty:
        pty.send("?xo")  # x goes back, and does not lower green
        pty.wait_for("undo 1")
        pty.send("?")
        pty.wait_for("any other key goes back")
        pty.send("xo")
        pty.wait_for("undo 2")
    assert load(pier / FIRST).correction == Correction(saturation=pytest.approx(1.04))


@pytest.mark.thorough
def test_nothing_is_drawn_over_help(pier: Path) -> None:
    """Readings of every pixel come 0.7 s after the last nudge, by when help lies over the desk."""
    with desk(pier) as pty:
        pty.send("u?")
        pty.wait_for("any other key goes back")
        mark = pty.mark()
        pty.wait_quiet(1.2)
        assert not pty.screen().shows("undo")
        assert pty.screen().shows("Steer by")
        assert not pty.screen(mark).shows("<=0")
        pty.send("x")
        pty.wait_for("undo 1")


def test_a_folder_that_vanishes_costs_no_work_and_what_cannot_be_saved_is_told(pier: Path) -> None:
    with desk(pier, 1) as pty:
        pty.wait_for("undo 0")
        shutil.rmtree(pier)
        pty.wait_for("the picture is gone")
        pty.send("o")
        pty.wait_for("undo 1")
        pty.send(KEYS["down"])
        pty.wait_for("shots 2/3")
        until((pier / FIRST).exists)  # a save makes the folder anew, so that the work is not lost
        assert saturation(pier) == pytest.approx(1.02)
        shutil.rmtree(pier)
        pier.write_text("no folder any more, so that nothing can be saved")
        pty.send("o")
        pty.wait_for("NOT SAVED")
        pty.send("Q")
        pty.wait_for("not saved:")


def test_a_picture_that_is_replaced_is_shown(pier: Path) -> None:
    with desk(pier) as pty:
        pty.wait_for("25.1")  # 64 of 255 in per cent, among the readings
        write(pier / "new.png", picture(128))
        (pier / "new.png").replace(pier / "pier_1.png")
        pty.wait_for("the picture was replaced")
        pty.wait_for("50.2")


def test_a_sidecar_made_invalid_by_hand_does_not_cost_the_work(pier: Path) -> None:
    with desk(pier) as pty:
        pty.send("o")
        pty.wait_for("saved")
        until((pier / FIRST).exists)
        pty.wait_quiet(0.5)
        (pier / FIRST).write_text("{ not json")
        pty.wait_for("not valid JSON")
        pty.send("o")
        pty.wait_for("NOT SAVED")
        assert pty.screen().shows("1.040")
        assert (pier / FIRST).read_text() == "{ not json"
        pty.send(":mine" + KEYS["enter"])
        pty.wait_for("saved; the previous version is in")
        assert saturation(pier) == pytest.approx(1.04)
    assert (pier / f"{FIRST}.conflict-1").read_text() == "{ not json"


def test_where_nothing_can_be_saved_another_folder_takes_the_sidecars(pier: Path) -> None:
    (pier / FIRST).symlink_to(pier / "nowhere.json")  # saving refuses a link, as anybody, also as root
    other = pier.parent / "kept"
    with desk(pier) as pty:
        pty.send("o")
        pty.wait_for("NOT SAVED")
        pty.send(f":sidecars {other}" + KEYS["enter"])
        pty.wait_for("sidecars are kept in")
        pty.wait_for(" saved")
    assert saturation(other) == pytest.approx(1.02)


def test_an_empty_folder_is_told(tmp_path: Path) -> None:
    with Pty([*APP, str(tmp_path)]) as pty:
        assert pty.wait() == 2
        pty.wait_quiet()
        said = pty.since(0).decode()
    assert said.startswith("poise: ")
    assert said.count("\n") == 1
    for ending in (".png", ".tif", ".exr", ".dpx", ".jpg"):
        assert ending in said


def test_one_shot_is_enough(pier: Path) -> None:
    for number in (2, 3):
        (pier / f"pier_{number}.png").unlink()
    with desk(pier) as pty:
        assert pty.screen().shows("shots 1/1")
        pty.send(KEYS["down"] + "o" + KEYS["enter"])
        pty.wait_for("every shot is balanced, held or skipped")
    assert json.loads((pier / FIRST).read_text())["state"] == "balanced"


def test_a_broken_picture_among_good_ones_gives_its_reason_in_place(pier: Path) -> None:
    whole = (pier / "pier_2.png").read_bytes()
    (pier / "pier_2.png").write_bytes(whole[: len(whole) // 2])
    with desk(pier) as pty:
        pty.send(KEYS["down"])
        pty.wait_for("shots 2/3")
        pty.wait_for("the file is cut short")
        pty.send(KEYS["down"])
        pty.wait_for("shots 3/3")
        pty.wait_for("25.1")
