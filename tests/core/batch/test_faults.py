"""Faults of a whole run: kills at any moment and a resume, bad frames, a full disk, two batches at once."""

import json
import os
import random
import signal
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image
from thorough import many
from until import LIMIT, until

from poise.frames import Depth, Frame, write
from poise.frames.scan import MANIFEST

CODE = "from poise.commands import main\nif __name__ == '__main__': main()"
FRAMES = 24
KILLS = many(2, 24)
"""Of one reel."""


def apply(day: Path, out: Path, *options: str) -> subprocess.Popen[str]:
    call = [sys.executable, "-c", CODE, "apply", str(day), "--out", str(out), *options]
    return subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True)


def ended(process: subprocess.Popen[str]) -> tuple[int, str, str]:
    out, said = process.communicate(timeout=LIMIT)
    assert "Traceback" not in said
    return process.returncode, out, said


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix in (".png", ".tif")}


def written(folder: Path) -> set[tuple[str, int]]:
    """Outputs by name and inode: one that is made anew is another."""
    entries = list(os.scandir(folder)) if folder.exists() else []
    return {(entry.name, entry.inode()) for entry in entries if entry.name.endswith(".png")}


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sequence of the coffee cup (skimage.data), a row less in every frame."""
    folder = tmp_path_factory.mktemp("day")
    for number in range(FRAMES):
        picture = np.ascontiguousarray(skimage.data.coffee()[number:]).astype(np.uint16) * 257
        write(folder / f"cup.{number + 1:04}.png", Frame(picture, Depth.U16))
    (folder / "cup.####.png.poise.json").write_text(json.dumps({"poise": 1, "correction": {"saturation": 0.9}}))
    return folder


@pytest.fixture(scope="module")
def undisturbed(day: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    out = tmp_path_factory.mktemp("undisturbed") / "out"
    code, _, said = ended(apply(day, out, "--workers", "2"))
    assert code == 0, said
    return contents(out)


def workers_of(process: subprocess.Popen[str]) -> list[int]:
    children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
    command = b"poise.batch.worker_process"
    return [int(child) for child in children if command in Path(f"/proc/{child}/cmdline").read_bytes()]


def test_killed_at_random_moments_and_resumed_it_leaves_the_same(
    day: Path, tmp_path: Path, undisturbed: dict[str, bytes]
) -> None:
    chance, out, hit = random.Random(7), tmp_path / "out", {"parent": 0, "worker": 0}
    for turn in range(KILLS):
        who = ("parent", "worker")[turn % 2]
        process = apply(day, out, "--workers", "2", *(("--fresh",) if turn and turn % 3 == 0 else ()))
        before, wanted = written(out), chance.randint(1, 4)
        until(lambda: len(written(out) - before) >= wanted or process.poll() is not None)  # noqa: B023, done at once
        try:
            os.kill(process.pid if who == "parent" else workers_of(process)[0], signal.SIGKILL)
            hit[who] += 1
        except (OSError, IndexError):
            pass  # it was over, or had none yet
        code, _, said = ended(process)
        assert code in ((-signal.SIGKILL, 0) if who == "parent" else (0,)), said
        for name, content in contents(out).items():
            assert content == undisturbed[name], (turn, name)
    code, _, said = ended(apply(day, out))
    assert code == 0, said
    assert contents(out) == undisturbed
    assert [path.name for path in out.iterdir() if path.name.startswith(".")] == []
    assert hit["parent"], "no kill came in time"


@pytest.mark.parametrize("number", many([signal.SIGTERM], [signal.SIGINT, signal.SIGTERM]))
def test_asked_to_end_it_keeps_what_it_has_and_goes_on(
    day: Path, tmp_path: Path, undisturbed: dict[str, bytes], number: signal.Signals
) -> None:
    out = tmp_path / "out"
    process = apply(day, out, "--workers", "2")
    until(lambda: written(out))
    process.send_signal(number)
    code, _, said = ended(process)
    assert code == 130
    assert "run the same command again to continue" in said
    there = contents(out)
    assert 0 < len(there) < FRAMES
    recorded = [json.loads(line)["output"] for line in (out / MANIFEST).read_text().splitlines()]
    assert sorted(recorded) == sorted(there)
    code, out_, _ = ended(apply(day, out, "--json"))
    assert (code, len(json.loads(out_)["unchanged"])) == (0, len(there))
    assert contents(out) == undisturbed


def _cut(path: Path, content: bytes) -> None:
    path.write_bytes(content[: len(content) // 2])


def _flipped(path: Path, content: bytes) -> None:
    path.write_bytes(content[:60] + bytes(200) + content[260:])


def _kind(name: str) -> Callable[[Path, bytes], None]:
    return lambda path, content: path.write_bytes({"text": b"fog", "gif": b"GIF89a" + content[6:]}[name])


def _pipe(path: Path, content: bytes) -> None:
    os.mkfifo(path)


def _palette(path: Path, content: bytes) -> None:
    Image.new("P", (4, 4)).save(path)


def _nothing(path: Path, content: bytes) -> None:
    path.touch()


def _link(path: Path, content: bytes) -> None:
    path.symlink_to("nowhere")


def _giant(path: Path, content: bytes) -> None:
    """Its header claims 2**31 pixels."""
    header = content[12:16] + (2**16).to_bytes(4) + (2**15).to_bytes(4) + content[24:29]
    path.write_bytes(content[:12] + header + zlib.crc32(header).to_bytes(4) + content[33:])


def _head(path: Path, content: bytes) -> None:
    path.write_bytes(content[:20])


BAD = (_cut, _flipped, _kind("text"), _kind("gif"), _palette, _nothing, _link, _head, _pipe, _giant)


def test_bad_frames_of_ten_kinds_cost_only_themselves(tmp_path: Path) -> None:
    """Every twentieth frame."""
    frames = many(200, 1000)
    day, bad = tmp_path / "day", []
    day.mkdir()
    Image.fromarray(skimage.data.coffee()[:60, :90]).save(day / "first.png")
    content = (day / "first.png").read_bytes()
    for number in range(frames):
        path = day / f"still_{number:04}x.png"
        if number % 20 == 19:
            BAD[number // 20 % len(BAD)](path, content)
            bad.append(path)
        else:
            os.link(day / "first.png", path)
        path.with_name(f"{path.name}.poise.json").write_text('{"poise": 1, "correction": {"saturation": 0.9}}')
    (day / "first.png").unlink()
    code, out, said = ended(apply(day, tmp_path / "out", "--json", "--workers", "2"))
    result = json.loads(out)
    assert code == 1
    listed = {Path(entry["file"]).name for entry in result["failed"]}
    # a link to nowhere or a pipe is passed over by the scan
    left_out = {path.name for path in bad} - listed
    assert all(not (day / name).is_file() for name in left_out), left_out
    assert len(result["done"]) == frames - len(bad)
    assert len(contents(tmp_path / "out")) == frames - len(bad)
    for path in bad:
        if path.name in listed:
            assert f"poise: {path}" in said


@pytest.fixture
def small_disk(tmp_path: Path) -> Path:
    """A file system of one megabyte."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(folder)], capture_output=True)
    if mounted.returncode:
        pytest.skip("mounting is not allowed here; tests/core/frames/test_store.py has an injected ENOSPC")
    yield folder  # type: ignore[misc]
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_is_named_and_leaves_nothing_partial(day: Path, small_disk: Path) -> None:
    code, _, said = ended(apply(day, small_disk / "out", "--workers", "2"))
    assert code == 1
    assert "no space left on device" in said.lower()
    assert list((small_disk / "out").glob(".*")) == []
    for path in (small_disk / "out").glob("*.png"):
        with Image.open(path) as picture:
            picture.load()


def test_a_second_batch_into_the_same_folder_is_refused(day: Path, tmp_path: Path) -> None:
    first = apply(day, tmp_path / "out", "--workers", "1")
    until((tmp_path / "out" / ".poise-lock").exists)
    code, _, said = ended(apply(day, tmp_path / "out"))
    assert code == 1
    assert f"process {first.pid} on" in said
    first.send_signal(signal.SIGTERM)
    assert ended(first)[0] == 130
