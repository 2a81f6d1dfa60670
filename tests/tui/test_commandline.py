"""The command line: what is typed after `:` does it, or says in words what is wrong."""

from pathlib import Path

import pytest
from PIL import Image

from poise.colour.transfer import names
from poise.correction import CONTROLS, Encoding
from poise.errors import PoiseError
from poise.frames import scan
from poise.sidecar import ShotInfo, Sidecar, load, save
from poise_tui.commandline import COMMANDS, run
from poise_tui.session import Session


class Desk:
    """A console that remembers what it was asked for."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.said: list[str] = []
        self.asked: list[object] = []

    def say(self, text: str, warning: bool = False) -> None:
        self.said.append(text)

    def go(self, index: int) -> None:
        self.session.go(index)

    def frame(self, steps: int) -> None:
        self.session.frame(steps)

    def find(self, text: str | None) -> None:
        self.asked.append(("find", text))

    def theme(self, theme: str) -> None:
        self.asked.append(("theme", theme))

    def changed(self) -> None:
        self.asked.append("changed")

    def help(self) -> None:
        self.asked.append("help")

    def quit(self) -> None:
        self.asked.append("quit")


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    for name in ("ferry_02.png", "pier.0101.png", "pier.0102.png", "pier.0104.png", "quay_01.png"):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return Desk(Session(scan([tmp_path]).shots))


def typed(desk: Desk, line: str) -> None:
    run(desk, line)  # type: ignore[arg-type]


def test_nothing_typed_does_nothing(desk: Desk) -> None:
    for line in ("", " ", ":"):
        typed(desk, line)
    assert desk.asked == []


def test_to_shots_and_frames(desk: Desk) -> None:
    typed(desk, "go 3")
    assert desk.session.index == 2
    typed(desk, ":  go 2 ")
    assert desk.session.index == 1
    typed(desk, "frame 104")
    assert desk.session.slot.file.name == "pier.0104.png"
    typed(desk, "frame 101")
    assert desk.session.slot.frame == 0
    typed(desk, "go quay")
    assert ("find", "quay") in desk.asked


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("sail", "no command is called 'sail'"),
        ("go 0", "there are shots 1 to 3"),
        ("go 4", "there are shots 1 to 3"),
        ("frame 3", "this shot is a still"),
        ("set", "set what? one of exposure, warmth"),
        ("set colour 3", "set what?"),
        ("set exposure bright", "'bright' is no number"),
        ("set exposure 9", "exposure goes from -8 to 8, not to 9"),
        ("set exposure nan", "exposure goes from -8 to 8, not to nan"),
        ("set saturation inf", "saturation goes from 0 to 4, not to inf"),
        ("set black point 0.99", "black point goes from -1 to 0.95, not to 0.99"),
        ("set white point -1", "white point goes from 0.05 to 4, not to -1"),
        ("source", "no transfer function is called ''"),
        ("source sunlight", "no transfer function is called 'sunlight'"),
        ("delivery BT.", "'BT.' may be ITU-R BT."),
        ("range wide", "a range is full or narrow"),
        ("paste", "nothing was copied yet"),
        ("paste colour", "no part is called 'colour'; there are light, balance"),
        ("paste-marked", "no shot is marked"),
        ("state done", "a state is new, balanced, held or skipped"),
        ("mine", "nothing is in the way"),
        ("sidecars", "name a folder"),
        ("sidecars ~no_such_sailor/x", "no such home folder"),
        ("theme blue", "a theme is dark or light"),
    ],
)
def test_what_cannot_be_done_is_told_and_changes_nothing(desk: Desk, line: str, told: str) -> None:
    before = [slot.decision for slot in desk.session.slots]
    with pytest.raises(PoiseError) as fault:
        typed(desk, line)
    assert told in str(fault.value)
    assert [slot.decision for slot in desk.session.slots] == before


def test_digits_that_are_no_numbers_are_looked_for_as_names(desk: Desk) -> None:
    typed(desk, "go ²")
    assert ("find", "²") in desk.asked
    typed(desk, "go 2")
    with pytest.raises(PoiseError, match="there are frames 101 to 104"):
        typed(desk, "frame ²")
    with pytest.raises(PoiseError, match="there are frames 101 to 104"):
        typed(desk, "frame 103")


def test_every_control_is_set_to_an_exact_value(desk: Desk) -> None:
    """By its name and by its path, to a tenth of its reach from neutral."""
    for control in CONTROLS:
        value = round(control.neutral + (control.high - control.neutral) / 10, 6)
        for name in (control.name, control.path):
            typed(desk, f"set {name} {value}")
            found: object = desk.session.slot.decision.correction
            for key in control.path.split("."):
                found = getattr(found, key)
            assert found in (value, (value,) * 3)
            desk.session.undo()


def test_encodings_by_a_part_of_their_name_here_and_everywhere(desk: Desk) -> None:
    typed(desk, "source acescct")
    assert desk.session.slot.encoding == Encoding(source="ACEScct")
    only = [name for name in names() if "1886" in name]
    assert len(only) == 1
    typed(desk, "delivery-all 1886")
    typed(desk, "range-all narrow")
    found = [slot.encoding for slot in desk.session.slots]
    assert found == [
        Encoding("ACEScct", only[0], range="narrow"), *[Encoding("sRGB", only[0], range="narrow")] * 2
    ]  # fmt: skip
    assert desk.said[-1] == "range is narrow for 3 shots"
    desk.session.undo()
    assert desk.session.slot.encoding.range == "full"


def test_pasting_parts_and_onto_marked_shots(desk: Desk) -> None:
    session = desk.session
    typed(desk, "set exposure 1")
    typed(desk, "set saturation 1.5")
    session.copy()
    session.go(1)
    session.mark()
    typed(desk, "paste light, tone")
    correction = session.slot.decision.correction
    assert (correction.light.exposure, correction.saturation) == (1, 1)
    session.go(2)
    session.mark()
    session.go(0)
    typed(desk, "paste-marked")
    assert [slot.decision.correction == session.copied for slot in session.slots] == [True] * 3
    assert desk.said[-1] == "pasted onto 2 of 2 marked shots"


def test_notes_and_states(desk: Desk) -> None:
    typed(desk, "note  fog over the pier ")
    typed(desk, "state held")
    decision = desk.session.slot.decision
    assert (decision.note, decision.state, desk.session.index) == ("fog over the pier", "held", 0)
    typed(desk, "note " + "x" * 5000)
    assert desk.session.save_all() == []
    assert len(load(desk.session.slot.shot.sidecar_path).note) == 4096


def conflict(desk: Desk) -> None:
    desk.session.nudge(8, +1)
    save(desk.session.slot.shot.sidecar_path, Sidecar(shot=ShotInfo("ferry_02.png", 8, 4), note="theirs"), None)
    desk.session.save_all()


def test_mine_and_theirs_end_a_conflict(desk: Desk) -> None:
    conflict(desk)
    typed(desk, "mine")
    assert desk.said == ["saved; what was there is in ferry_02.png.poise.json.conflict-2"]
    desk.session.go(2)
    desk.session.nudge(8, +1)
    path = desk.session.slot.shot.sidecar_path
    save(path, Sidecar(shot=ShotInfo("quay_01.png", 8, 4), note="theirs"), None)
    desk.session.save_all()
    typed(desk, "theirs")
    assert desk.session.slot.decision.note == "theirs"
    typed(desk, "theirs")
    assert desk.said[-1] == "the sidecar holds nothing new"
    path.write_text("{")
    with pytest.raises(PoiseError, match="not valid JSON"):
        typed(desk, "theirs")


def test_mine_does_not_say_saved_when_it_is_not(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    conflict(desk)

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", refuse)
    with pytest.raises(PoiseError, match=r"No space left on device; what was there is in .*conflict-2"):
        typed(desk, "mine")
    assert desk.said == []


def test_sidecars_go_to_a_folder_that_is_made(desk: Desk, tmp_path: Path) -> None:
    typed(desk, "set exposure 1")
    folder = tmp_path / "kept" / "here"
    typed(desk, f"sidecars {folder}")
    assert desk.session.save_all() == []
    assert load(folder / "ferry_02.png.poise.json").correction.light.exposure == 1
    (tmp_path / "file").touch()
    with pytest.raises(PoiseError, match="file: File exists"):
        typed(desk, f"sidecars {tmp_path / 'file'}")


def test_theme_help_and_quit_reach_the_desk(desk: Desk) -> None:
    for line in ("theme light", "help", "quit"):
        typed(desk, line)
    assert [what for what in desk.asked if what != "changed"] == [("theme", "light"), "help", "quit"]


def test_every_command_has_words_of_its_own_and_help() -> None:
    words = [command.word for command in COMMANDS]
    assert len(set(words)) == len(words)
    assert all(command.does for command in COMMANDS)
