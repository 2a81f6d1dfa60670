"""The command line: what is typed after `:` does it, or says in words what is wrong."""

from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image

from poise.colour.transfer import names
from poise.correction import (
    CONTROLS,
    NEUTRAL,
    Balance,
    Correction,
    Curves,
    Encoding,
    Inside,
    Interval,
    Levels,
    Light,
    Matte,
    Tone,
    Zone,
)
from poise.correction.controls import MATTE_CONTROLS, OFFSET, POWER, SLOPE
from poise.correction.model import HueInterval
from poise.errors import PoiseError
from poise.frames import scan
from poise.sidecar import ShotInfo, Sidecar, load, save
from poise_tui.commandline import COMMANDS, completions, run
from poise_tui.desk import banks
from poise_tui.edits import group
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture


class Desk:
    """A console that remembers what it was asked for."""

    names = ()

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
    for word, file in (("last", "pier.0104.png"), ("first", "pier.0101.png"), ("judged", "pier.0101.png")):
        typed(desk, f"frame {word}")
        assert desk.session.slot.file.name == file
    typed(desk, "go quay")
    assert ("find", "quay") in desk.asked


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("sail", "no command is called 'sail'"),
        ("go 0", "there are shots 1 to 3"),
        ("go 4", "there are shots 1 to 3"),
        ("only dark", "list only what? one of all, unfinished"),
        ("order size", "an order is by name, spread, cast, level"),
        ("frame 3", "this shot is a still"),
        ("set", "set what? one of flare, flare in code, exposure, warmth"),
        ("set colour 3", "set what?"),
        ("set exposure bright", "'bright' is not a number"),
        ("set exposure 9", "exposure goes from -8 to 8, not to 9"),
        ("set exposure nan", "exposure goes from -8 to 8, not to nan"),
        ("set saturation inf", "saturation goes from 0 to 4, not to inf"),
        ("set flare 0.9", "flare goes from -0.5 to 0.8, not to 0.9"),
        ("set flare in code 1.2", "flare in code goes from 0 to 1, not to 1.2"),
        ("set black point 0.99", "black point goes from -1 to 0.95, not to 0.99"),
        ("set white point -1", "white point goes from 0.05 to 4, not to -1"),
        ("source", "no transfer function is called ''"),
        ("source sunlight", "no transfer function is called 'sunlight'"),
        ("delivery BT.", "'BT.' could be ITU-R BT."),
        ("range wide", "a range is full or narrow"),
        ("paste", "nothing was copied yet"),
        ("paste colour", "no part is called 'colour'; there are light, balance"),
        ("paste-marked", "no shot is marked"),
        ("state done", "a state is new, balanced, held or skipped"),
        ("mine", "no fault to settle"),
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


def test_what_is_listed_and_gone_to_by_number(desk: Desk) -> None:
    session = desk.session
    session.marked, unmeasured = {0, 2}, "3 not measured yet, last"
    stays = "quay_01.png stays the current shot"
    for line, said in (
        ("only marked", "marked: 2 of 3 shots listed"),
        ("go 2", ""),
        ("order cast", f"marked, by cast: 2 of 3 shots listed; {unmeasured}"),
        ("list PIER", f"marked, 'PIER', by cast: 0 of 3 shots listed; {unmeasured}; {stays}"),
        ("only all", f"'PIER', by cast: 1 of 3 shots listed; {unmeasured}; {stays}"),
        ("order name", f"'PIER': 1 of 3 shots listed; {stays}"),
        ("list", "all 3 shots listed, by name"),
    ):
        desk.said = [""]
        typed(desk, line)
        assert (line, desk.said[-1], session.index) == (line, said, 0 if line == "only marked" else 2)
    typed(desk, "list zz")
    with pytest.raises(PoiseError, match="no shot is listed"):
        typed(desk, "go 1")


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


def test_what_the_desk_shows_is_set_by_the_desks_names(desk: Desk) -> None:
    """In the words of the desk and in those of the sidecar; the zone means what it means to the column's keys."""
    session = desk.session

    def correction() -> Correction:
        return session.slot.decision.correction

    for line, wanted, said in (
        ("red 0.01", Correction(balance=Balance(offset=(0.01, 0, 0))), "red is 0.01"),
        ("Level -0.02", Correction(balance=Balance(offset=(-0.02,) * 3)), "level is -0.02"),
        ("slope 1.05 1 0.98", Correction(balance=Balance(slope=(1.05, 1, 0.98))), "slope is 1.05 1 0.98"),
        ("slope 1.1", Correction(balance=Balance(slope=(1.1,) * 3)), "slope is 1.1 1.1 1.1"),
        ("slope red 1.05", Correction(balance=Balance(slope=(1.05, 1, 1))), "slope red is 1.05"),
        ("balance.power blue 0.9", Correction(balance=Balance(power=(1, 1, 0.9))), "power blue is 0.9"),
        ("white 0.82", Correction(levels=Levels(white=0.82)), "white is 0.82"),
        ("black 0.03", Correction(levels=Levels(black=0.03)), "black is 0.03"),
        ("flare red 0.06", Correction(light=Light(flare=(0.06, 0, 0))), "flare red is 0.06"),
        ("flare 0.06 0.05 0.04", Correction(light=Light(flare=(0.06, 0.05, 0.04))), "flare is 0.06 0.05 0.04"),
        ("flare all 0.05", Correction(light=Light(flare=(0.05,) * 3)), "flare all is 0.05"),
        ("toe 0.2", Correction(tone=Tone(toe=0.2)), "toe is 0.2"),
        ("shoulder -0.2", Correction(tone=Tone(shoulder=-0.2)), "shoulder is -0.2"),
        ("pivot 0.4", Correction(levels=Levels(pivot=0.4)), "pivot is 0.4"),
    ):
        typed(desk, f"set {line}")
        assert (correction(), desk.said[-1]) == (wanted, said)
        session.undo()
    for zone, wanted in (
        (Zone.MIDTONES, Balance(power=(1.1, 1, 1))),
        (Zone.HIGHLIGHTS, Balance(slope=(1.1, 1, 1))),
        (Zone.SHADOWS, Balance((0.95, 1, 1), (0.05, 0, 0))),  # white is held: 0.95 + 0.05 = 1
    ):
        session.hold(zone=zone)
        typed(desk, "set red 0.05" if zone is Zone.SHADOWS else "set red 1.1")
        assert correction().balance == wanted
        session.undo()


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("set white", "white is 1 now; type another after it"),
        ("set slope", "slope is 1 1 1 now"),
        ("set slope 1 2", "slope takes one number, or three: red, green, blue"),
        ("set white 1 1 1", "white takes one number"),
        ("set slope red 17", "slope red goes from 0 to 16, not to 17"),
        ("set red wide", "'wide' is not a number"),
        ("set white 0.01", "white goes from 0.05 to 4"),
        ("set black 0.99", "black goes from -1 to 0.95"),
    ],
)
def test_what_the_desk_can_not_take_is_told(desk: Desk, line: str, told: str) -> None:
    with pytest.raises(PoiseError) as fault:
        typed(desk, line)
    assert told in str(fault.value)
    assert desk.session.slot.decision.correction == NEUTRAL


def test_shadows_stay_below_white_and_a_grey_picture_takes_no_single_channel(desk: Desk) -> None:
    desk.session.hold(zone=Zone.SHADOWS)
    with pytest.raises(PoiseError, match=r"red goes from -4 to 0\.95, not to 1"):
        typed(desk, "set red 1")
    desk.session.set_picture(0, Picture(8, 4, linear=False, grey=True))
    for line in ("red 0.01", "slope red 1.1", "slope 1 1.1 1", "flare red 0.1", "warmth 5"):
        with pytest.raises(PoiseError, match="a greyscale picture takes no"):
            typed(desk, f"set {line}")
    typed(desk, "set slope 1.1")
    assert desk.session.slot.decision.correction.balance.slope == (1.1,) * 3


def test_a_wrong_name_lists_all_that_is_there(desk: Desk) -> None:
    with pytest.raises(PoiseError) as fault:
        typed(desk, "set colour 3")
    named = str(fault.value).removeprefix("set what? one of ").partition(", and a value; ")[0].split(", ")
    shown = {column.name for bank in banks("balance") for column in bank.columns if column}
    assert set(named) == (shown | {control.name for control in CONTROLS} | {"toe"}) - {
        "flare red", "flare green", "flare blue"
    }  # fmt: skip
    assert str(fault.value).endswith("flare, slope, offset, power also of one channel, such as slope red 1.05")


def test_a_line_is_completed_to_words_choices_and_the_value_that_stands_there(desk: Desk) -> None:
    desk.session.correct(Correction(balance=Balance(slope=(1.05, 1, 0.98)), levels=Levels(white=0.82)))
    for line, wanted in (
        ("pa", ["paste ", "paste-marked ", "patches "]),
        (":th", ["theirs ", "theme "]),
        ("theme ", ["theme dark", "theme light"]),
        ("set whi", ["set white point 0.82", "set white 0.82"]),
        ("set slope", ["set slope 1.05 1 0.98", "set slope red 1.05", "set slope green 1", "set slope blue 0.98"]),
        ("set red", ["set red 0", "set flare red 0", "set slope red 1.05", "set offset red 0", "set power red 1"]),
        ("order lev", ["order level"]),
        ("source 709", ["source ITU-R BT.709"]),
        ("range ", ["range full", "range narrow"]),
        ("frame 3", []),
        ("nothing such", []),
    ):
        assert completions(desk, line) == wanted, line  # type: ignore[arg-type]


SAIL = Matte("sail", hue=HueInterval(20, 60), chroma=Interval(0.1, 0.5), luma=Interval(0.1, 0.5))
BUOY = Matte("buoy", inside=Inside(exposure=1))


@pytest.fixture
def keyed(desk: Desk) -> Desk:
    """In matte mode, with the second of two mattes current."""
    desk.session.correct(Correction(saturation=1.1, mattes=(BUOY, SAIL)))
    desk.session.work("matte")
    desk.session.hold(matte=1)
    return desk


def test_at_the_matte_table_every_control_of_the_matte_in_hand_is_set(keyed: Desk) -> None:
    for control in MATTE_CONTROLS:
        value = round(control.low + (control.high - control.low) * 0.3, 6)
        for name in (control.name, control.path):
            typed(keyed, f"set {name} {value}")
            correction = keyed.session.slot.decision.correction
            found: object = correction.mattes[1]
            for key in control.path.split("."):
                found = getattr(found, key)
            assert found == value
            assert correction == Correction(saturation=1.1, mattes=(BUOY, correction.mattes[1]))
            keyed.session.undo()


@pytest.mark.parametrize("control", [SLOPE, OFFSET, POWER], ids=lambda control: control.name)
def test_at_the_matte_table_balance_is_that_inside(keyed: Desk, control: object) -> None:
    name = control.name  # type: ignore[attr-defined]
    typed(keyed, f"set {name} 1.25")
    inside = Inside(balance=Balance(**{name: (1.25, 1.25, 1.25)}))
    assert keyed.session.slot.decision.correction.mattes == (BUOY, replace(SAIL, inside=inside))
    assert keyed.session.slot.decision.correction.balance == Balance()
    keyed.session.work("matte")
    typed(keyed, f"set {name} 1.25")
    assert keyed.session.slot.decision.correction.balance == Balance(**{name: (1.25, 1.25, 1.25)})


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("set warmth 10", "set what? one of hue low, hue high"),
        ("set hue low 361", "hue low goes from 0 to 360, not to 361"),
        ("set hue low -1", "hue low goes from 0 to 360, not to -1"),
        ("set blur 0.6", "blur goes from 0 to 0.5, not to 0.6"),
        ("set chroma low 0.6", "chroma from 0.6 to 0.5 would select nothing"),
        ("set luma.high 0.05", "luma from 0.1 to 0.05 would select nothing"),
        ("set exposure nan", "exposure goes from -8 to 8"),
        ("set hue soft wide", "'wide' is not a number"),
        ("name", "a matte needs a name"),
        ("name   ", "a matte needs a name"),
        ("point 0.5 0.6", "go to curve mode first"),
    ],
)
def test_what_a_matte_cannot_take_is_told_and_changes_nothing(keyed: Desk, line: str, told: str) -> None:
    before = keyed.session.slot.decision
    with pytest.raises(PoiseError) as fault:
        typed(keyed, line)
    assert told in str(fault.value)
    assert keyed.session.slot.decision == before
    assert keyed.said == []


def test_low_and_high_of_a_range_may_meet_and_a_hue_may_go_past_360(keyed: Desk) -> None:
    for line in ("set chroma low 0.5", "set luma high 0.1", "set hue low 350"):
        typed(keyed, line)
    matte = keyed.session.slot.decision.correction.mattes[1]
    assert (matte.chroma, matte.luma, matte.hue) == (Interval(0.5, 0.5), Interval(0.1, 0.1), HueInterval(350, 60))


def test_a_marked_shot_that_is_full_does_not_keep_a_matte_from_the_others(keyed: Desk) -> None:
    session = keyed.session
    session.copy()
    session.correct(Correction(mattes=(BUOY,) * 8), index=1)
    session.marked = {1, 2}
    typed(keyed, "paste-marked")
    assert keyed.said == [
        "pasted onto 1 of 2 marked shots; unchanged: pier.####.png (a shot has at most 8 mattes: delete one first)"
    ]
    assert [len(slot.decision.correction.mattes) for slot in session.slots] == [2, 8, 1]
    session.copied = None
    with pytest.raises(PoiseError, match="nothing was copied yet"):
        typed(keyed, "paste-marked")


def test_without_a_matte_there_is_none_to_set_or_name(desk: Desk) -> None:
    desk.session.work("matte")
    for line in ("set hue low 20", "set slope 1.1", "name sail"):
        with pytest.raises(PoiseError, match="no matte yet"):
            typed(desk, line)
    assert desk.session.slot.decision.correction == NEUTRAL


def test_a_matte_is_named_at_its_table(keyed: Desk) -> None:
    typed(keyed, "name  red sail of the ferry ")
    assert keyed.said[-1] == "named red sail of the ferry"
    typed(keyed, "name buoy")
    assert keyed.said[-1] == "named buoy 2"
    assert [matte.name for matte in keyed.session.slot.decision.correction.mattes] == ["buoy", "buoy 2"]
    keyed.session.work("matte")
    with pytest.raises(PoiseError, match="go to matte mode first"):
        typed(keyed, "name lamp")


def test_a_point_is_put_onto_the_curve_in_hand(desk: Desk) -> None:
    desk.session.work("curve")
    desk.session.hold(channel="red")
    typed(desk, "point 0.5 0.55")
    assert desk.said[-1] == "red goes through 0.5, 0.55"
    typed(desk, "point 0.5 0.6")
    typed(desk, "point 0.25 0.7")
    assert desk.said[-1] == "red goes through 0.25, 0.6, the limit"
    curves = Curves(red=((0.0, 0.0), (0.25, 0.6), (0.5, 0.6), (1.0, 1.0)))
    assert desk.session.slot.decision.correction == Correction(curves=curves)
    assert desk.session.hand.at == 0.25
    for line in ("point", "point 0.5", "point 0.5 0.6 0.7", "point a b", "point 0,5 0,6"):
        with pytest.raises(PoiseError, match="a point is two numbers"):
            typed(desk, line)
    for line in ("point 9 0.5", "point nan 0.5", "point 0.5 inf"):
        with pytest.raises(PoiseError, match=r"between -1 and 4|finite step"):
            typed(desk, line)
    assert desk.session.slot.decision.correction == Correction(curves=curves)
    desk.session.work("curve")
    with pytest.raises(PoiseError, match="go to curve mode first"):
        typed(desk, "point 0.5 0.55")


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
    group.nudge(desk.session, 8, +1)
    save(desk.session.slot.shot.sidecar_path, Sidecar(shot=ShotInfo("ferry_02.png", 8, 4), note="theirs"), None)
    desk.session.save_all()


def test_mine_and_theirs_end_a_conflict(desk: Desk) -> None:
    conflict(desk)
    typed(desk, "mine")
    assert desk.said == ["saved; the previous version is in ferry_02.png.poise.json.conflict-2"]
    desk.session.go(2)
    group.nudge(desk.session, 8, +1)
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
    with pytest.raises(PoiseError, match=r"No space left on device; the previous version is in .*conflict-2"):
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
