"""Temporary names: known again only when the process that wrote them is gone."""

import subprocess
from pathlib import Path

import pytest

from poise.atomic import atomic_replace, orphan, temporary_path


def test_only_a_dead_process_leaves_an_orphan() -> None:
    ended = subprocess.Popen(["true"])
    ended.wait()
    assert orphan(f".ferry_02.png.{ended.pid}.poise-tmp") == "ferry_02.png"
    assert orphan(temporary_path(Path("day/ferry_02.png")).name) is None
    assert orphan(f".ferry_02.png.{10**30}.poise-tmp") is None
    assert orphan("ferry_02.png") is None


def test_nothing_laid_in_its_place_is_written_through(tmp_path: Path) -> None:
    target, elsewhere = tmp_path / "ferry_02.png", tmp_path / "elsewhere"
    temporary_path(target).symlink_to(elsewhere)
    with atomic_replace(target) as temporary:
        temporary.write_bytes(b"new")
    assert target.read_bytes() == b"new"
    writing = atomic_replace(target)
    temporary = writing.__enter__()
    temporary.unlink()
    temporary.symlink_to("/etc/hostname")
    with pytest.raises(OSError, match="something else was put in the place"):
        writing.__exit__(None, None, None)
    assert [path.name for path in tmp_path.iterdir()] == [target.name]
    assert target.read_bytes() == b"new"
    assert not target.is_symlink()
