"""The manifest: torn at any byte it is survived, and what it says of an output is its last line."""

import os
from pathlib import Path

import pytest

from poise.batch.manifest import Manifest, Record, read, rewrite
from poise.errors import OutputError
from poise.frames.scan import MANIFEST
from poise.stamp import Stamp

STAMP = Stamp(10, 1_800_000_000_000_000_000, 1_800_000_000_000_000_001)


def record(output: str, content: str = "00") -> Record:
    return Record(output, f"day/{output}", STAMP, "ab", "cd", STAMP, content, "poise")


def test_what_is_added_is_read_back_and_the_last_line_stands(tmp_path: Path) -> None:
    assert read(tmp_path) == {}
    with Manifest(tmp_path) as manifest:
        for one in (record("a.tif"), record("pier/b\u00f6.tif"), record("a.tif", "01")):
            manifest.add(one)
    assert read(tmp_path) == {"a.tif": record("a.tif", "01"), "pier/b\u00f6.tif": record("pier/b\u00f6.tif")}
    rewrite(tmp_path, read(tmp_path))
    assert len((tmp_path / MANIFEST).read_bytes().splitlines()) == 2
    assert read(tmp_path)["a.tif"].output_hash == "01"


def test_names_that_are_no_unicode_are_recorded_as_they_are(tmp_path: Path) -> None:
    name = os.fsdecode(b"caf\xe9.tif")
    with Manifest(tmp_path) as manifest:
        manifest.add(record(name))
        manifest.add(record("a.tif"))
    assert read(tmp_path) == {name: record(name), "a.tif": record("a.tif")}
    rewrite(tmp_path, read(tmp_path))
    assert set(read(tmp_path)) == {name, "a.tif"}


def test_torn_at_any_byte_it_is_survived_and_added_to(tmp_path: Path) -> None:
    with Manifest(tmp_path) as manifest:
        manifest.add(record("a.tif"))
        manifest.add(record("b.tif"))
    whole = (tmp_path / MANIFEST).read_bytes()
    first = whole.index(b"\n") + 1
    for end in range(len(whole) + 1):
        (tmp_path / MANIFEST).write_bytes(whole[:end])
        there = {name for name, at in (("a.tif", first - 1), ("b.tif", len(whole) - 1)) if end >= at}
        assert set(read(tmp_path)) == there, end
        with Manifest(tmp_path) as manifest:
            manifest.add(record("c.tif"))
        assert set(read(tmp_path)) == there | {"c.tif"}, end


@pytest.mark.parametrize("line", [b"{}", b"[1]", b"\xff\xfe", b'{"output": "x"}', b"{" * 100_000, b"null", b'"a.tif"'])
def test_lines_of_strangers_are_passed_over(tmp_path: Path, line: bytes) -> None:
    (tmp_path / MANIFEST).write_bytes(line + b"\n")
    with Manifest(tmp_path) as manifest:
        manifest.add(record("a.tif"))
    assert set(read(tmp_path)) == {"a.tif"}


def test_it_is_never_written_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "diary").write_text("mine")
    (tmp_path / MANIFEST).symlink_to(tmp_path / "diary")
    with pytest.raises(OutputError, match="can't be written"):
        Manifest(tmp_path)
    assert (tmp_path / "diary").read_text() == "mine"


@pytest.mark.parametrize("kind", ["pipe", "device", "link"])
def test_what_is_laid_in_its_place_is_neither_read_nor_written(tmp_path: Path, kind: str) -> None:
    place, elsewhere = tmp_path / MANIFEST, tmp_path / "elsewhere"
    if kind == "pipe":
        os.mkfifo(place)
    else:
        place.symlink_to("/dev/zero" if kind == "device" else elsewhere)
    with pytest.raises(OutputError, match="can't be read"):
        read(tmp_path)
    with pytest.raises(OutputError, match="can't be written"):
        Manifest(tmp_path)
    assert not elsewhere.exists()
