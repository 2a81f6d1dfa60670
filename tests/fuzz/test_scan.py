"""Hostile folders: whatever names, links, pipes and depths there are, a scan ends, and says what it leaves out."""

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from thorough import many

from poise.frames import scan
from poise.frames.codecs import EXTENSIONS

MANY = many(60, 1200)
_names = st.builds(
    lambda stem, ending: os.fsencode(stem)[:200].replace(b"/", b"_").replace(b"\0", b"_") + ending,
    st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12)
    | st.sampled_from(
        ["quay.0001", "quay.0002", "quay_00000000000000000000001", ".", "..", "-", "####", "\udcff\n\x1b[2J"]
    ),
    st.sampled_from([b"", b".tif", b".PNG", b".exr", b".poise.json", b".poise-tmp", b".tif.poise.json"]),
)
_entries = st.tuples(_names, st.sampled_from(["file", "folder", "up", "itself", "nowhere", "root", "pipe", "below"]))


def lay(folder: bytes, entries: list[tuple[bytes, str]]) -> None:
    """Makes the entries, one after the other; what the system refuses is left out."""
    here = folder
    for name, kind in entries:
        place = here + b"/" + name
        try:
            if kind == "file":
                open(place, "xb").close()
            elif kind in ("folder", "below"):
                os.mkdir(place)
                here = place if kind == "below" else here
            elif kind == "pipe":
                os.mkfifo(place)
            else:
                os.symlink({"up": b"..", "itself": name, "nowhere": b"nowhere/x", "root": folder}[kind], place)
        except OSError:
            continue


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("scan")


@settings(max_examples=MANY, deadline=10_000)
@given(entries=st.lists(_entries, max_size=12), stills=st.booleans())
def test_a_hostile_folder_is_listed_once(root: Path, entries: list[tuple[bytes, str]], stills: bool) -> None:
    folder = root / "day"
    folder.mkdir()
    try:
        lay(os.fsencode(folder), entries)
        listing = scan([folder, *folder.iterdir()], stills)
        files = [os.path.realpath(file) for shot in listing.shots for file in shot.files]
        places = [os.path.join(os.path.realpath(f.parent), f.name) for shot in listing.shots for f in shot.files]
        assert len(places) == len(set(places))
        there = {
            os.path.realpath(os.path.join(at, name))
            for at, _, names in os.walk(folder)
            for name in names
            if not name.startswith(".") and os.path.splitext(name)[1].lower() in EXTENSIONS
        }
        hidden = [part for part in folder.rglob(".*") if part.is_dir()]
        assert hidden or {file for file in there if os.path.isfile(file)} <= set(files)
        for problem in listing.problems:
            assert "\n" not in problem.reason
        for shot in listing.shots:
            assert shot.sidecar_path.parent == shot.first.parent
    finally:
        shutil.rmtree(folder)
