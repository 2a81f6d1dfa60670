"""Temporary names: known again only when the process that wrote them is gone."""

import subprocess
from pathlib import Path

from poise.temporary import beside, orphan


def test_only_a_dead_process_leaves_an_orphan() -> None:
    ended = subprocess.Popen(["true"])
    ended.wait()
    assert orphan(f".ferry_02.png.{ended.pid}.poise-tmp") == "ferry_02.png"
    assert orphan(beside(Path("day/ferry_02.png")).name) is None
    assert orphan(f".ferry_02.png.{10**30}.poise-tmp") is None
    assert orphan("ferry_02.png") is None
