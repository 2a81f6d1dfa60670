"""Stamps, held against what the file system itself does: what leaves the content alone, and what doesn't."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from poise.stamp import Stamp, stamp

Deed = Callable[[Path], None]


def _time_kept(path: Path, write: Deed) -> None:
    found = path.stat()
    write(path)
    os.utime(path, ns=(found.st_atime_ns, found.st_mtime_ns))


def _replace(path: Path) -> None:
    (path.parent / "next").write_bytes(b"sea")
    os.replace(path.parent / "next", path)


def _link(path: Path) -> None:
    os.link(path, path.parent / "another name")


def _rename(path: Path) -> None:
    path.rename(path.parent / "away").rename(path)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "quay.tif"
    path.write_bytes(b"fog")
    os.utime(path, ns=(10**18, 10**18))
    return path


@pytest.mark.parametrize("deed", [lambda path: path.chmod(0o600), _link, _rename], ids=["chmod", "link", "rename"])
def test_what_leaves_the_content_alone_is_no_other_file(file: Path, deed: Deed) -> None:
    before = stamp(file)
    deed(file)
    assert stamp(file) == before
    assert not stamp(file).untouched(before)


@pytest.mark.parametrize(
    "deed",
    [_replace, lambda path: _time_kept(path, _replace), lambda path: path.write_bytes(b"sea")],
    ids=["replaced", "replaced, its time put back", "written"],
)
def test_other_content_is_seen(file: Path, deed: Deed) -> None:
    before = stamp(file)
    deed(file)
    assert stamp(file) != before
    assert not stamp(file).untouched(before)


def test_content_written_in_place_with_its_time_put_back_is_not_taken_as_untouched(file: Path) -> None:
    before = stamp(file)
    _time_kept(file, lambda path: path.write_bytes(b"sea"))
    assert not stamp(file).untouched(before)


def test_what_nobody_touched_is_the_same_from_every_mount(file: Path) -> None:
    found = stamp(file)
    assert found == stamp(file)
    assert found.untouched(Stamp(found.size, found.modified, found.changed, node=found.node + 1))


def test_what_is_not_there_has_none(tmp_path: Path) -> None:
    assert Stamp.of(tmp_path / "gone") is None
    with pytest.raises(FileNotFoundError):
        stamp(tmp_path / "gone")
