"""A CLF as source in the app: named by keys or by `:source`, shown, saved, corrected under; a missing one is told."""

import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
from sitting import sit
from skimage import data

from poise.colour.transfer import decode, names
from poise.commands.shared.shots import readings
from poise.correction import NEUTRAL, Encoding
from poise.errors import PoiseError
from poise.frames import read, scan
from poise.sidecar import load
from poise_tui.edits.encoding_chooser import EncodingChooser
from poise_tui.session.session import Session


@pytest.fixture
def day(tmp_path: Path) -> Path:
    pixels = (data.coffee()[::4, ::4] * 180.0 + 4000).astype(np.uint16)  # flat, as log code is
    tifffile.imwrite(tmp_path / "quay_02.tif", pixels, photometric="rgb")
    values = " ".join(f"{value:.9g}" for value in decode("ACEScct", np.linspace(0, 1, 4096)))
    table = f'<LUT1D inBitDepth="32f" outBitDepth="32f"><Array dim="4096 1">{values}</Array></LUT1D>'
    head = '<?xml version="1.0"?>\n<ProcessList id="camera_a" compCLFversion="3.0">'
    (tmp_path / "camera_a.clf").write_text(f"{head}{table}</ProcessList>")
    return tmp_path


def keyed(text: str) -> list[str]:
    return [":", *("space" if letter == " " else letter for letter in text), "enter"]


def figure(shown: list[str], name: str) -> list[float]:
    """The first row of figures with a name: per cent."""
    row = next(line for line in shown if line.strip().startswith(name))
    return [float(word) for word in row.split()[1:] if word.replace(".", "").replace("-", "").isdigit()]


def test_source_by_name_is_saved_and_the_readings_are_those_after_it(day: Path) -> None:
    sit(day, keyed("source camera_a.clf"))
    shown = sit(day, ["@"], then="> camera_a.clf")
    found = load(day / "quay_02.tif.poise.json")
    assert found.encoding == Encoding(source="camera_a.clf")
    assert any("camera_a.clf" in line for line in shown)
    named = readings(read(day / "quay_02.tif"), Encoding(source="ACEScct"), NEUTRAL)
    assert figure(shown, "Y")[:3] == pytest.approx([named.luma.black, named.luma.median, named.luma.white], abs=0.6)


def test_what_it_gives_is_said_where_there_is_one(day: Path) -> None:
    sit(day, keyed("clf-gives sRGB"), then="is no CLF: name one with :source")
    assert not list(day.glob("*.json"))
    keys = [*keyed("source camera_a.clf"), *keyed("clf-gives BT.1886")]
    sit(day, keys, then="the output of the CLF is ITU-R BT.1886")
    assert load(day / "quay_02.tif.poise.json").encoding == Encoding("camera_a.clf", clf_gives="ITU-R BT.1886")


def test_what_can_not_be_a_source_is_said_and_changes_nothing(day: Path) -> None:
    shown = sit(day, keyed("source camera_b.clf"), then="its source camera_b.clf is not in the shot's folder")
    assert any("quay_02.tif" in line for line in shown)
    assert not list(day.glob("*.json"))


def test_a_shot_without_its_file_stands_there_with_its_fault(day: Path) -> None:
    wanted = {"poise": 1, "encoding": {"source": "camera_b.clf"}, "note": "fog"}
    (day / "quay_02.tif.poise.json").write_text(json.dumps(wanted))
    shown = sit(day, ["q"], then="camera_b.clf is not in")
    assert shown
    assert load(day / "quay_02.tif.poise.json").encoding == Encoding(source="camera_b.clf")


def test_the_files_in_the_folder_can_be_chosen_as_a_source(day: Path) -> None:
    session = Session(scan([day]).shots)
    chooser = EncodingChooser(session, names)
    assert chooser.every[-1] == "camera_a.clf"
    assert "camera_a.clf" in EncodingChooser(session, lambda: ()).every  # while the functions are still imported
    chooser.narrow("CAMERA")
    assert chooser.names == ["camera_a.clf"]
    chooser.turn()
    assert "camera_a.clf" not in chooser.every  # a delivery is no file
    chooser.narrow("1886")
    assert chooser.take() == "source is camera_a.clf, delivery is ITU-R BT.1886"
    assert session.slot.encoding == Encoding("camera_a.clf", "ITU-R BT.1886")
    (day / "camera_a.clf").unlink()
    session.undo()
    chooser = EncodingChooser(session, names)
    chooser._files = ("camera_a.clf",)
    chooser.narrow("camera")
    with pytest.raises(PoiseError, match=r"quay_02.tif: .*camera_a.clf is not in"):
        chooser.take()
    assert session.slot.encoding == Encoding()
