"""Ids of shots, and shots by their ids and by paths."""

import re
import string
import unicodedata
from pathlib import Path
from xml.parsers import expat

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from thorough import many

from poise.exchange.names import Lookup, ids, media, place, plain_name
from poise.frames.shots import Shot

ROOT = Path("day")


def still(name: str) -> Shot:
    path = ROOT / name
    return Shot(path.name, ROOT, (path,), False)


def sequence(pattern: str, *numbers: int) -> Shot:
    path = ROOT / pattern
    digits = pattern.count("#")
    files = tuple(path.with_name(path.name.replace("#" * digits, f"{n:0{digits}}")) for n in numbers)
    return Shot(path.name, ROOT, files, True, numbers)


@pytest.mark.parametrize(
    ("shot", "name"),
    [
        (still("quay_02.tif"), "quay_02"),
        (still("quay.v2.tif"), "quay.v2"),
        (still("####.tif"), "####"),
        (sequence("quay_03.####.dpx", 101, 102), "quay_03"),
        (sequence("ferry_####_b.png", 1, 2), "ferry_b"),
        (sequence("######.exr", 1, 2), "######"),
    ],
)
def test_plain_names(shot: Shot, name: str) -> None:
    assert plain_name(shot) == name


def test_ids_are_as_short_as_they_can_be() -> None:
    shots = [still(n) for n in ("a/quay.tif", "b/quay.tif", "b/ferry.tif", "b/mole.png", "b/mole.tif", "2 men.tif")]
    shots += [sequence("b/sail.####.dpx", 1, 2), still("b.mole.tif.tif"), still("b.mole.tif.png")]
    assert ids(shots) == [
        "a.quay",
        "b.quay",
        "ferry",
        "b.mole.png",
        "b.mole.tif",
        "_2_men",
        "sail",
        "b.mole.tif.tif",
        "b.mole.tif.png",
    ]


# expat takes the names of the fourth edition, which has fewer letters; these are in both
OLD = {*string.ascii_letters, *string.digits, *"_-.", *map(chr, [*range(0xC0, 0xD7), *range(0x4E00, 0x9FA6)])}
NAMES = st.text(st.characters(blacklist_characters="/\0", blacklist_categories=()), min_size=1, max_size=12).filter(
    lambda name: name not in (".", "..")
)


@settings(max_examples=many(30, 1000))
@given(st.lists(st.lists(NAMES, min_size=1, max_size=3).map("/".join), min_size=1, max_size=8, unique=True))
def test_ids_are_unique_names_and_lead_back(paths: list[str]) -> None:
    """Whatever files are called; an XML name without a colon, as `OLD` says (XML 1.0, fifth edition, 2.3)."""
    shots = [still(f"{path}.tif") for path in paths]
    found = ids(shots)
    assert len(set(found)) == len(found)
    for name in found:
        assert not re.search(r"[:\s/\\<>&\"']|^[-.0-9]", name)
        assert name.isprintable() or re.search("[^\x00-\x7f]", name)
        if set(name) <= OLD:
            expat.ParserCreate(namespace_separator=" ").Parse(f"<{name}/>", True)
    lookup = Lookup(shots)
    assert [lookup.find(name) for name in found] == [[number] for number in range(len(shots))] or len(
        {unicodedata.normalize("NFC", path) for path in paths}
    ) < len(paths)


def test_what_a_shot_is_called_elsewhere() -> None:
    shots = [
        still("a/quay 2.tif"),
        still("b/quay 2.tif"),
        still("b/\u00e9t\u00e9.tif"),
        sequence("b/sail.####.dpx", 7, 8),
    ]
    shots += [still("b/mole.png"), still("b/mole.tif"), still("c/100%.tif")]
    find = Lookup(shots).find
    for number, names in {
        0: ("a.quay_2", "a/quay 2.tif", "a/quay 2", "a\\quay 2.tif", "/vol/a/quay 2.tif", "./a/quay 2"),
        1: ("b.quay_2", "b.quay_2.tif"),
        2: ("\u00e9t\u00e9", "e\u0301te\u0301", "b/e\u0301te\u0301.tif", "\u00e9t\u00e9.tif", "x/y/\u00e9t\u00e9"),
        3: ("sail", "sail.####.dpx", "b/sail.####.dpx", "sail.0008.dpx", "other/sail.0007.dpx"),
        5: ("mole.tif", "b.mole.tif", "x/" * 500_000 + "b/mole.tif"),
    }.items():
        assert [find(name) for name in names] == [[number]] * len(names)
    for unclear in ("quay 2", "quay_2", "quay 2.tif", "d/quay 2.tif"):
        assert find(unclear) == [0, 1]
    assert find("mole") == [4, 5]
    for unknown in ("", "/", "quay", "quay 2.png", "sail.0009.dpx", "..", "Sail"):
        assert find(unknown) == []


def test_a_name_that_a_folder_has_too_is_of_none() -> None:
    shots = [still("quay.tif"), still("b/quay.tif")]
    lookup = Lookup(shots)
    assert ids(shots) == ["quay.tif", "b.quay"]
    assert [lookup.find(name) for name in ("quay", "quay.tif", "b/quay", "b.quay")] == [[0, 1], [0], [1], [1]]


def test_media_come_back_as_they_went() -> None:
    shots = [still("a/quay 2.tif"), still("b/100%.tif"), still("b/100%25.tif"), still("#1?.tif"), still("\udc80.tif")]
    lookup = Lookup(shots)
    assert media(shots[0]) == "a/quay%202.tif"
    assert [lookup.media(media(shot)) for shot in shots] == [[number] for number in range(len(shots))]
    assert lookup.media("file:///vol/day/a/quay%202.tif") == [0]
    assert lookup.media("a/quay 2.tif") == [0]
    assert lookup.media("http://[") == []
    assert place(shots[0]).as_posix() == "a/quay 2.tif"
