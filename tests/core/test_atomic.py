"""Temporary names: known again only when the process that wrote them is gone."""

import os
import subprocess
from pathlib import Path
from types import SimpleNamespace

import pytest

from poise.atomic import atomic_replace, orphan, shortened, temporary_path


def test_only_a_dead_process_leaves_an_orphan() -> None:
    ended = subprocess.Popen(["true"])
    ended.wait()
    assert orphan(f".ferry_02.png.{ended.pid}.poise-tmp") == "ferry_02.png"
    assert orphan(temporary_path(Path("day/ferry_02.png")).name) is None
    assert orphan(f".ferry_02.png.{10**30}.poise-tmp") is None
    assert orphan("ferry_02.png") is None


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc")
def test_a_process_that_ended_is_dead_before_its_parent_notices() -> None:
    """In a container nobody may ever notice the workers of a run that was killed."""
    ended = subprocess.Popen(["true"])
    os.waitid(os.P_PID, ended.pid, os.WEXITED | os.WNOWAIT)  # it stays unreaped (waitid(2))
    assert orphan(f".ferry_02.png.{ended.pid}.poise-tmp") == "ferry_02.png"
    ended.wait()


def test_a_temporary_file_of_another_machine_is_left_to_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A process number says nothing on another machine; within one, names without a machine are still known."""
    ended = subprocess.Popen(["true"])
    ended.wait()
    monkeypatch.setattr(os, "getpid", lambda: ended.pid)
    here, longest = temporary_path(Path("ferry_02.png")).name, temporary_path(Path("é" * 127 + ".")).name
    assert orphan(here) == "ferry_02.png"
    assert orphan(longest) == shortened("é" * 127 + ".")
    assert len(os.fsencode(longest)) <= 255  # NAME_MAX (limits.h)
    assert shortened("é" * 127 + ".") != shortened("é" * 127 + "-")
    monkeypatch.setattr(os, "uname", lambda: SimpleNamespace(nodename="lighthouse"))
    assert temporary_path(Path("ferry_02.png")).name != here
    assert orphan(here) is orphan(longest) is None


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
