"""`--sidecars DIR`: a folder of pictures that must not be touched is measured, decided on and applied all the same."""

import json
import os
from pathlib import Path

import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    (folder / "pier").mkdir(parents=True)
    picture = Image.fromarray(skimage.data.astronaut()).resize((96, 96)).point(lambda v: 40 + v // 2)
    picture.save(folder / "quay.png")
    picture.save(folder / "pier" / "ferry.png")
    return folder


def state(folder: Path) -> dict[Path, tuple[int, bytes]]:
    """Every name below a folder, with the time of its last change and what it holds."""
    return {
        path: (path.stat().st_mtime_ns, path.read_bytes() if path.is_file() else b"")
        for path in (folder, *folder.rglob("*"))
    }


def test_the_folder_of_pictures_stays_as_it_was(day: Path, tmp_path: Path) -> None:
    away, out = tmp_path / "sidecars", tmp_path / "out"
    for path in (day / "pier", day):
        path.chmod(0o555)  # holds for all but root; that nothing changed is seen below for root too
    before = state(day)
    assert poise("auto", day, "--sidecars", away).exit_code == 0
    assert sorted(path.relative_to(away) for path in away.rglob("*.json")) == [
        Path("pier/ferry.png.poise.json"),
        Path("quay.png.poise.json"),
    ]
    (plain,) = json.loads(poise("measure", day / "quay.png", "--json", "--corrected").stdout)
    (seen,) = json.loads(poise("measure", day / "quay.png", "--json", "--corrected", "--sidecars", away).stdout)
    assert seen["readings"]["luma"]["black"] < plain["readings"]["luma"]["black"] - 10
    assert poise("apply", day, "--out", out, "--workers", 1).exit_code == 2  # no sidecars beside the pictures
    applied = poise("apply", day, "--out", out, "--sidecars", away, "--json", "--workers", 1)
    assert applied.exit_code == 0
    assert len(json.loads(applied.stdout)["done"]) == 2
    (written,) = json.loads(poise("measure", out / "quay.png", "--json").stdout)
    assert written["readings"]["luma"] == pytest.approx(seen["readings"]["luma"], abs=0.5)
    assert poise("reset", day, "--sidecars", away).exit_code == 0
    assert state(day) == before
    for path in (day, day / "pier"):
        path.chmod(0o755)
    assert os.listdir(away / "pier") == ["ferry.png.poise.json"]


def test_a_folder_of_sidecars_among_the_pictures_does_no_harm(day: Path) -> None:
    away = day / "sidecars"
    for _ in range(2):
        result = poise("auto", day, "--sidecars", away)
        assert (result.exit_code, result.stderr) == (0, "")
    assert len(list(away.rglob("*"))) == 3  # two sidecars and a folder


def test_copy_reads_and_writes_there(day: Path, tmp_path: Path) -> None:
    away = tmp_path / "sidecars"
    (away / "pier").mkdir(parents=True)
    (away / "pier" / "ferry.png.poise.json").write_text('{"poise": 1, "correction": {"saturation": 1.5}}')
    # FROM is known by its place below TO, where it stands among TO
    assert poise("copy", day / "pier" / "ferry.png", day, "--sidecars", away).exit_code == 0
    assert json.loads((away / "quay.png.poise.json").read_text())["correction"]["saturation"] == 1.5
    assert not list(day.rglob("*.json"))


@pytest.mark.parametrize("name", ["auto", "measure", "reset", "copy"])
def test_two_pictures_of_one_sidecar_are_named_and_refused(name: str, day: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "quay.png").hardlink_to(day / "quay.png")
    away = tmp_path / "sidecars"
    away.mkdir()
    (away / "quay.png.poise.json").write_text('{"poise": 1}')
    result = poise(name, day / "quay.png", other / "quay.png", "--sidecars", away)
    assert result.exit_code == 2
    assert str(day / "quay.png") in result.stderr
    assert str(other / "quay.png") in result.stderr
    assert (away / "quay.png.poise.json").read_text() == '{"poise": 1}'
