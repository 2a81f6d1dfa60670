"""Choosing an encoding: narrowed by what is typed, shown before it counts, left as it was by escape."""

from pathlib import Path

import pytest
from PIL import Image

from poise.colour.transfer import names
from poise.correction import Encoding
from poise.errors import PoiseError
from poise.frames import scan
from poise_tui.edits import group
from poise_tui.edits.encoding_chooser import EncodingChooser
from poise_tui.session.session import Session


@pytest.fixture
def session(tmp_path: Path) -> Session:
    for name in ("ferry_01.png", "quay_02.png", "quay_03.png"):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return Session(scan([tmp_path]).shots)


def test_typing_narrows_and_chooses_the_first(session: Session) -> None:
    chooser = EncodingChooser(session, names)
    assert (chooser.label, chooser.turns, chooser.chosen) == ("source", "delivery", "sRGB")
    assert chooser.note("sRGB") == "now"
    chooser.narrow("aces")
    found = [name for name in names() if "aces" in name.casefold()]
    assert sorted(chooser.names) == sorted(found)
    assert len(found) > 1
    chooser.narrow("acesCC ")  # a name typed in full comes before those that contain it
    assert (chooser.names[0], chooser.chosen) == ("ACEScc", "ACEScc")
    chooser.narrow("bt 709")
    assert chooser.chosen == "ITU-R BT.709"


def test_what_is_chosen_is_shown_and_not_yet_decided(session: Session) -> None:
    chooser = EncodingChooser(session, names)
    chooser.narrow("acescct")
    assert session.shown.encoding == Encoding("ACEScct")
    assert session.slot.decision.encoding is None
    chooser.narrow("acescctx")
    assert chooser.names == []
    assert session.shown.encoding == Encoding()
    with pytest.raises(PoiseError, match="no source has 'acescctx' in its name"):
        chooser.take()
    assert (session.trial, session.slot.history.depth) == (None, 0)


def test_escape_leaves_everything_as_it_was(session: Session) -> None:
    chooser = EncodingChooser(session, names)
    chooser.move(+3)
    assert session.trial is not None
    chooser.leave()
    assert (session.trial, session.shown, session.slot.history.depth) == (None, session.slot.decision, 0)


def test_source_delivery_and_range_are_taken_together_as_one_step(session: Session) -> None:
    chooser = EncodingChooser(session, names)
    chooser.narrow("acescct")
    chooser.turn()
    assert (chooser.label, chooser.typed, chooser.chosen) == ("delivery", "", "sRGB")
    chooser.narrow("1886")
    chooser.turn()
    assert list(chooser.every) == ["full", "narrow"]
    chooser.move(+1)
    assert chooser.take() == "source is ACEScct, delivery is ITU-R BT.1886, range is narrow"
    assert session.slot.encoding == Encoding("ACEScct", "ITU-R BT.1886", range="narrow")
    assert session.slot.history.depth == 1
    assert EncodingChooser(session, names).take() == "the encoding stays as it was"


def test_a_group_gets_what_was_chosen_and_keeps_the_rest(session: Session) -> None:
    group.encode(session, {"delivery": "linear"}, [2])
    session.marked, session.together = {2}, True
    chooser = EncodingChooser(session, names)
    chooser.narrow("acescct")
    assert chooser.take() == "source is ACEScct for 2 shots"
    assert [slot.encoding for slot in session.slots] == [Encoding("ACEScct"), Encoding(), Encoding("ACEScct", "linear")]
