"""Folders become shots: order, sequences, what is passed over and what is reported (issue 2, DESIGN 7)."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from poise.errors import UsageError
from poise.frames import Listing, Shot, scan
from poise.frames.scan import MANIFEST


def touch(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).touch()


def names(listing: Listing) -> list[str]:
    return [shot.name for shot in listing.shots]


def test_natural_order_and_subfolders(tmp_path: Path) -> None:
    touch(tmp_path, "quay_10.tif", "quay_2.tif", "day10/ferry.png", "day2/ferry.PNG", "day2/night/a.exr")
    listing = scan([tmp_path])
    assert names(listing) == ["quay_2.tif", "quay_10.tif", "ferry.PNG", "a.exr", "ferry.png"]
    assert listing.problems == ()
    deep = listing.shots[3]
    assert deep.root == tmp_path
    assert deep.relative(deep.first) == Path("day2/night/a.exr")


def test_a_sequence_is_one_shot(tmp_path: Path) -> None:
    touch(tmp_path, *(f"quay_03.{n:04}.dpx" for n in (101, 102, 105, 106, 110)), "quay_02.tif", "quay_03.tif")
    still, run, other = scan([tmp_path]).shots
    assert (still.sequence, other.sequence, run.sequence) == (False, False, True)
    assert run.name == "quay_03.####.dpx"
    assert [file.name[8:12] for file in run.files] == ["0101", "0102", "0105", "0106", "0110"]
    assert run.frame_range == (101, 110)
    assert run.gaps == ((103, 104), (107, 109))
    assert run.sidecar_path == tmp_path / "quay_03.####.dpx.poise.json"
    assert still.sidecar_path == tmp_path / "quay_02.tif.poise.json"
    assert (still.frame_range, still.gaps) == (None, ())
    assert len(scan([tmp_path], stills=True).shots) == 7


def test_sidecars_in_another_folder_stand_as_the_pictures_do(tmp_path: Path) -> None:
    touch(tmp_path, "a.tif", "pier/b.0001.dpx", "pier/b.0002.dpx", "sidecars/a.tif.poise.json")
    away = tmp_path / "sidecars"
    listing = scan([tmp_path], sidecars=away)
    expected = [away / "a.tif.poise.json", away / "pier" / "b.####.dpx.poise.json"]
    assert [shot.sidecar_path for shot in listing.shots] == expected
    assert listing.problems == ()
    (single,) = scan([tmp_path / "pier" / "b.0002.dpx"], sidecars=away).shots
    assert single.sidecar_path == away / "b.0002.dpx.poise.json"


def test_two_shots_never_share_a_sidecar(tmp_path: Path) -> None:
    touch(tmp_path, "one/pier/a.tif", "two/pier/a.tif", "two/b.tif")
    roots = [tmp_path / "one", tmp_path / "two"]
    assert len(scan(roots).shots) == 3
    assert len(scan([tmp_path], sidecars=tmp_path / "s").shots) == 3
    with pytest.raises(UsageError) as fault:
        scan(roots, sidecars=tmp_path / "s")
    assert str(roots[0] / "pier" / "a.tif") in str(fault.value)
    assert str(roots[1] / "pier" / "a.tif") in str(fault.value)


@pytest.mark.parametrize(
    ("files", "shots"),
    [
        (["a_0001.png", "a_0002.png"], ["a_####.png"]),
        (["a.000001.png", "a.000002.png"], ["a.######.png"]),
        (["0001.png", "0002.png"], ["####.png"]),
        (["a_0001_left.png", "a_0002_left.png"], ["a_####_left.png"]),
        (["a_0001_2048.png", "a_0002_2048.png"], ["a_####_2048.png"]),
        (["a_0001.0001.png", "a_0001.0002.png"], ["a_0001.####.png"]),
        (["ferry #2_0001.png", "ferry #2_0002.png"], ["ferry #2_####.png"]),
        (["a_0001.png", "b_0002.png"], ["a_0001.png", "b_0002.png"]),
        (["a_001.png", "a_002.png"], ["a_001.png", "a_002.png"]),
        (["a-0001.png", "a-0002.png"], ["a-0001.png", "a-0002.png"]),
        (["a0001.png", "a0002.png"], ["a0001.png", "a0002.png"]),
        (["a_0001.png", "a_0002.tif"], ["a_0001.png", "a_0002.tif"]),
        (["a_0001.png"], ["a_0001.png"]),
        (["a\nb_0001.png", "a\nb_0002.png"], ["a\nb_####.png"]),
    ],
)
def test_what_makes_a_sequence(tmp_path: Path, files: list[str], shots: list[str]) -> None:
    touch(tmp_path, *files)
    assert names(scan([tmp_path])) == shots


def test_a_sequence_named_file_by_file_is_one_shot(tmp_path: Path) -> None:
    touch(tmp_path, "a.0001.dpx", "a.0002.dpx", "b.tif")
    listing = scan([tmp_path / "a.0002.dpx", tmp_path / "b.tif", tmp_path / "a.0001.dpx"])
    assert names(listing) == ["a.####.dpx", "b.tif"]
    assert listing.shots[0].root == tmp_path


def test_passed_over_in_silence(tmp_path: Path) -> None:
    touch(tmp_path, "a.tif", ".a.tif", ".a.tif.77.poise-tmp", "a.tif.poise.json", "notes.txt", ".old/b.tif")
    touch(tmp_path, f"balanced/{MANIFEST}", "balanced/a.tif", "balanced/day/a.tif")
    listing = scan([tmp_path])
    assert names(listing) == ["a.tif"]
    assert listing.problems == ()
    assert names(scan([tmp_path / "balanced"])) == ["a.tif", "a.tif"]


def test_problems_are_told(tmp_path: Path) -> None:
    touch(tmp_path, "a.tif", "notes.txt")
    (tmp_path / "gone.tif").symlink_to("nowhere.tif")
    os.mkfifo(tmp_path / "pipe.dpx")
    listing = scan([tmp_path, tmp_path / "none", tmp_path / "notes.txt"])
    assert names(listing) == ["a.tif"]
    told = {path.name: reason for path, reason in listing.problems}
    assert told["gone.tif"] == "the link points to nothing; mend or remove it"
    assert told["pipe.dpx"] == "this is not a regular file, so it can't hold a picture"
    assert told["none"] == "no such file or folder; check the name"
    assert told["notes.txt"] == "poise reads no pictures with this ending (.txt)"


def test_an_empty_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    ((path, reason),) = scan([tmp_path]).problems
    assert path == tmp_path
    assert reason.startswith("no pictures in this folder")


def test_an_unreadable_folder_is_told_and_the_rest_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    touch(tmp_path, "a.tif", "locked/b.tif", "open/c.tif")
    real = os.scandir

    def scandir(folder: Path) -> object:
        if Path(folder).name == "locked":
            raise PermissionError(13, "Permission denied")
        return real(folder)

    monkeypatch.setattr(os, "scandir", scandir)  # the tests may run as root, whom nothing is denied
    listing = scan([tmp_path])
    assert names(listing) == ["a.tif", "c.tif"]
    assert listing.problems == ((tmp_path / "locked", "the folder can't be read: Permission denied"),)


def test_loops_and_repeats_count_once(tmp_path: Path) -> None:
    touch(tmp_path, "day/a.tif")
    (tmp_path / "day" / "again").symlink_to(tmp_path)
    assert names(scan([tmp_path, tmp_path, tmp_path / "day" / "a.tif"])) == ["a.tif"]


def test_a_linked_picture_is_a_shot(tmp_path: Path) -> None:
    touch(tmp_path, "elsewhere/a.tif")
    (tmp_path / "reel").mkdir()
    (tmp_path / "reel" / "b.tif").symlink_to(tmp_path / "elsewhere" / "a.tif")
    assert names(scan([tmp_path / "reel"])) == ["b.tif"]


@pytest.mark.parametrize("name", ["ferry at night.tif", "fähre 港.tif", "ferry\nnight.tif", "ferry'\".tif"])
def test_odd_names(tmp_path: Path, name: str) -> None:
    touch(tmp_path, name)
    (shot,) = scan([tmp_path]).shots
    assert shot == Shot(name, tmp_path, (tmp_path / name,), False)


def test_ten_thousand_files_list_in_a_second(tmp_path: Path) -> None:
    for n in range(5000):
        (tmp_path / f"pier.{n:06}.dpx").touch()
        (tmp_path / f"still{n}.tif").touch()
    start = time.process_time()  # other work on the machine must not count
    listing = scan([tmp_path])
    assert time.process_time() - start < 1
    assert len(listing.shots) == 5001


def test_nothing_heavy_is_loaded() -> None:
    code = (
        "import sys, poise.frames; print([m for m in ('numpy','imagecodecs','OpenImageIO','PIL') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_link_that_leads_round_in_a_circle_costs_nothing_else(tmp_path: Path) -> None:
    touch(tmp_path, "a.tif", "z.tif")
    (tmp_path / "m").symlink_to("m")
    (tmp_path / "n.tif").symlink_to("n.tif")
    listing = scan([tmp_path])
    assert [shot.name for shot in listing.shots] == ["a.tif", "z.tif"]
    assert [problem.path.name for problem in listing.problems] == ["n.tif"]
