"""Names that a file system takes and a program may trip over: each costs only its own shot."""

import json
import os
import subprocess
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main
from poise.errors import SidecarError
from poise.sidecar import Sidecar, SidecarConflict, save

pytestmark = pytest.mark.usefixtures("in_this_process")

NAME_MAX = 255  # limits.h of Linux, and what `pathconf` says of ext4, XFS and tmpfs
ENDING = ".poise.json"


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def named(length: int) -> str:
    """A name of so many bytes, a part of them in letters of two."""
    return "é" * 40 + "a" * (length - 84) + ".tif"


@pytest.fixture
def day(tmp_path: Path) -> Path:
    day = tmp_path / "day"
    day.mkdir()
    Image.fromarray(skimage.data.astronaut()[:48, :64]).save(day / "quay.tif")
    return day


@pytest.mark.parametrize(
    "command",
    [
        ("measure",),
        ("auto",),
        ("match", "--to", "{day}/quay.tif"),
        ("reset",),
        ("apply", "--all", "--out", "{out}"),
        ("check",),
        ("export", "--all", "--to", "cdl", "--out", "{out}"),
        ("export", "--all", "--to", "clf", "--out", "{out}"),
        ("report", "--out", "{out}.html"),
    ],
    ids=lambda command: "-".join(command[:1] + command[3:4]),
)
def test_a_name_too_long_for_a_sidecar_costs_its_own_shot(day: Path, command: tuple[str, ...]) -> None:
    """For all of these the other shot is done."""
    long = named(NAME_MAX - len(ENDING) + 1)
    (day / long).write_bytes((day / "quay.tif").read_bytes())
    (day / "ferry.tif").write_bytes((day / "quay.tif").read_bytes())
    ran = poise(command[0], day, *(part.format(day=day, out=day.parent / "out") for part in command[1:]))
    told = [line for line in (ran.stdout + ran.stderr).splitlines() if long in line]
    assert ran.exit_code == 1
    assert len(told) == 1
    assert "longer than the disk takes; give the picture or its folder a shorter name" in ran.output
    assert "ferry" in ran.output or "out" in ran.output


@pytest.mark.parametrize("length", [NAME_MAX - len(ENDING) - 20, NAME_MAX - len(ENDING)])
def test_the_longest_name_that_has_a_sidecar_goes_all_the_way(day: Path, length: int) -> None:
    (day / "quay.tif").rename(day / named(length))
    out = day.parent / "out"
    for call in (("auto", day), ("apply", day, "--out", out), ("check", day, "--out", out, "--limits", "full")):
        ran = poise(*call)
        assert ran.exit_code == 0, ran.output
    assert sorted(os.listdir(day)) == [named(length), named(length) + ENDING]
    assert sorted(os.listdir(out)) == ["poise-manifest.jsonl", named(length)]


@pytest.mark.parametrize("length", [NAME_MAX - 3, NAME_MAX])
def test_an_output_may_have_the_longest_name_there_is(day: Path, length: int) -> None:
    from poise.frames import read, write

    frame = read(day / "quay.tif")
    write(day / named(length), frame)
    assert np.array_equal(np.asarray(Image.open(day / named(length))), frame.pixels)
    assert sorted(os.listdir(day)) == sorted(["quay.tif", named(length)])


def test_a_conflict_beside_a_long_name_is_kept(day: Path) -> None:
    path = day / (named(NAME_MAX - len(ENDING)) + ENDING)
    save(path, Sidecar(note="first"), None)
    with pytest.raises(SidecarConflict) as told:
        save(path, Sidecar(note="second"), None)
    assert json.loads(told.value.kept.read_text())["note"] == "second"
    assert json.loads(path.read_text())["note"] == "first"
    with pytest.raises(SidecarError, match="can't be saved: its name or path is longer than the disk takes"):
        save(day / ("b" + path.name), Sidecar(), None)


def test_a_name_that_is_no_unicode_gets_a_sidecar(day: Path) -> None:
    (day / "quay.tif").rename(day / os.fsdecode(b"quay\xff.tif"))
    assert poise("auto", day).exit_code == 0
    written = (day / os.fsdecode(b"quay\xff.tif.poise.json")).read_text("utf-8")
    assert json.loads(written)["shot"]["file"] == r"quay\xff.tif"
    assert poise("measure", day, "--corrected").exit_code == 0
    assert poise("apply", day, "--out", day.parent / "out").exit_code == 0
    assert os.fsdecode(b"quay\xff.tif") in os.listdir(day.parent / "out")


@pytest.mark.parametrize(("name", "levels"), [("harbour" * 30, 24), ("q", 1100)], ids=["longer", "deeper"])
def test_a_tree_longer_than_a_path_or_deeper_than_calls_costs_its_end(day: Path, name: str, levels: int) -> None:
    """PATH_MAX is 4096 on Linux (limits.h); Python nests 1000 calls."""
    at = os.open(day, os.O_RDONLY)
    for _ in range(levels):
        os.mkdir(name, dir_fd=at)
        below = os.open(name, os.O_RDONLY, dir_fd=at)
        os.close(at)
        at = below
    os.close(at)
    try:
        longer = len(str(day)) + levels * (len(name) + 1) > 4096
        for call in (("measure", day), ("check", day, "--limits", "full")):
            ran = poise(*call)
            assert ran.exit_code == int(longer)
            assert ran.output.count("the folder can't be read: File name too long") == int(longer)
            assert "quay.tif" in ran.stdout or "1 shot checked" in ran.stderr
    finally:
        subprocess.run(["rm", "-rf", str(day / name)], check=True)


@pytest.mark.parametrize("command", [("auto",), ("match", "--to", "{day}/quay.tif")])
def test_no_sidecar_is_written_through_a_link_that_leads_out_of_the_folder(day: Path, command: tuple[str, ...]) -> None:
    vault = day.parent / "vault"
    for folder in (vault, day / "inner"):
        folder.mkdir()
    Image.fromarray(skimage.data.astronaut()[:48, :64] // 2).save(vault / "ferry.tif")
    Image.fromarray(skimage.data.astronaut()[:48, :64] // 2).save(day / "inner" / "ferry.tif")
    (day / "reel").symlink_to(vault)
    (day / "again").symlink_to("inner")
    ran = poise(command[0], day, *(part.format(day=day) for part in command[1:]))
    assert ran.exit_code == 1
    told = f"poise: {day}/reel/ferry.tif: its sidecar would leave {day.resolve()} through a link"
    assert told in ran.stderr
    assert os.listdir(vault) == ["ferry.tif"]
    assert (day / "inner" / f"ferry.tif{ENDING}").exists()
    assert f"{day}/reel/ferry.tif" in poise("measure", day).stdout
    assert poise(command[0], vault, *(part.format(day=day) for part in command[1:])).exit_code == 0
    assert (vault / f"ferry.tif{ENDING}").exists()
