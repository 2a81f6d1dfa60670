"""`poise show` in the places it may be run: pipes, poor terminals, plain locales, odd and broken pictures."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import imageio.v3 as iio
import numpy as np
import pytest
from click.testing import CliRunner

from poise.errors import FileError, UsageError
from poise_tui.commands.show import command

CALL = "from poise_tui.commands.show import command; command()"


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    ramp = np.linspace(0, 255, 64, dtype=np.uint8)
    path = tmp_path / "quay_01.png"
    iio.imwrite(
        path, np.dstack([np.tile(ramp, (36, 1)), np.full((36, 64), 128, np.uint8), np.tile(ramp[::-1], (36, 1))])
    )
    return path


def run(*words: object, **environ: str) -> bytes:
    env = {"PATH": os.environ["PATH"], "HOME": "/", "LANG": "C.UTF-8", **environ}
    call = [sys.executable, "-c", CALL, *map(str, words)]
    return subprocess.run(call, env=env, capture_output=True, check=True).stdout


def test_a_pipe_gets_100_columns_and_no_colour(quay: Path) -> None:
    text = run(quay, TERM="xterm-256color").decode()
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 100
    assert text.splitlines()[0] == "quay_01.png  64 x 36  8 bit  sRGB  new"
    for word in ("waveform", "parade", "vectors", "picture", "readings"):
        assert word in text
    assert any("\u2801" <= letter <= "\u28ff" for letter in text)


def test_lc_all_c_gets_ascii_alone(quay: Path) -> None:
    assert run(quay, LC_ALL="C").isascii()
    assert run(quay, TERM="dumb").isascii()
    assert run(quay, "--ascii").isascii()


@pytest.mark.parametrize(
    ("environ", "code"), [({"TERM": "xterm"}, rb"\x1b\[9[0-7]m"), ({"COLORTERM": "truecolor"}, rb"\x1b\[38;2;")]
)
def test_colour_on_request_by_the_depth_of_the_terminal(quay: Path, environ: dict[str, str], code: bytes) -> None:
    text = run(quay, "--colour", **environ)
    assert re.search(code, text)
    assert (b"38;2;" in text) == ("COLORTERM" in environ)


@pytest.mark.parametrize("width", [40, 57, 80, 200])
def test_no_line_is_wider_than_asked(quay: Path, width: int) -> None:
    lines = CliRunner().invoke(command, [str(quay), "--width", str(width)], catch_exceptions=False).output.splitlines()
    assert max(map(len, lines)) <= width


@pytest.mark.parametrize("shape", [(1, 1, 3), (5000, 1, 3), (1, 5000, 3)])
def test_pictures_of_odd_shape(tmp_path: Path, shape: tuple[int, ...]) -> None:
    path = tmp_path / "mast.png"
    iio.imwrite(path, np.full(shape, 51, np.uint8))
    output = CliRunner().invoke(command, [str(path), "--colour"], catch_exceptions=False).output
    assert f"{shape[1]} x {shape[0]}" in output
    assert "20.0" in output


def test_a_broken_file_is_named_after_the_others_were_shown(quay: Path) -> None:
    broken = quay.with_name("quay_02.png")
    broken.write_bytes(b"\x89PNG\r\n\x1a\n")
    result = CliRunner().invoke(command, [str(broken), str(quay)])
    assert isinstance(result.exception, FileError)
    assert "quay_02.png" in str(result.exception)
    assert "quay_01.png  64 x 36" in result.output


def test_nothing_to_show_is_wrong_usage(tmp_path: Path) -> None:
    assert isinstance(CliRunner().invoke(command, [str(tmp_path / "ferry.tif")]).exception, UsageError)


def test_corrected_shows_what_the_sidecar_says(quay: Path) -> None:
    brighter = {
        "poise": 1,
        "revision": 1,
        "shot": {"file": quay.name, "width": 64, "height": 36},
        "correction": {"balance": {"offset": [0.2, 0.2, 0.2]}},
        "state": "balanced",
        "written": {"by": "a harbour master", "at": "2026-11-25T10:00:00Z"},
    }
    quay.with_name("quay_01.png.poise.json").write_text(json.dumps(brighter))
    before = CliRunner().invoke(command, [str(quay)], catch_exceptions=False).output
    after = CliRunner().invoke(command, [str(quay), "--corrected"], catch_exceptions=False).output
    assert before.splitlines()[0].endswith("balanced")
    assert after.splitlines()[0].endswith("balanced, corrected")
    # Green is 128 of 255 everywhere, 50.2 %; offset 0.2 lifts it by 20 % (ASC CDL 1.2: in * slope + offset).
    assert re.search(r"green +50\.2 +50\.2", before)
    assert re.search(r"green +70\.2 +70\.2", after)


def test_a_frame_that_is_not_there(quay: Path) -> None:
    result = CliRunner().invoke(command, [str(quay), "--frame", "7"])
    assert isinstance(result.exception, UsageError)
    assert "it is a still" in str(result.exception)


def test_a_reader_that_leaves_early_is_no_fault(quay: Path) -> None:
    line = f'{sys.executable} -c "{CALL}" {quay} | head -c 1'
    done = subprocess.run(["sh", "-c", line], capture_output=True, check=True, env={**os.environ, "LANG": "C.UTF-8"})
    assert done.stderr == b""


def test_a_sidecar_in_another_folder_is_found(quay: Path, tmp_path: Path) -> None:
    away = tmp_path / "sidecars"
    away.mkdir()
    (away / "quay_01.png.poise.json").write_text('{"poise": 1, "state": "held"}')
    words = [str(quay), "--corrected", "--sidecars", str(away)]
    output = CliRunner().invoke(command, words, catch_exceptions=False).output
    assert output.splitlines()[0].endswith("held, corrected")


def test_delivery_faults_stand_below_by_a_set_of_limits(quay: Path) -> None:
    words = [str(quay), "--width", "200"]
    said = CliRunner().invoke(command, words, catch_exceptions=False).output
    # red falls as blue rises, so that luma goes from 0.0722 to 0.2126 of red and blue about green's 50.2 %
    assert re.search(r"^! black \d+\.\d > 5 %: black of luma", said, re.M)
    assert "! " not in CliRunner().invoke(command, [*words, "--limits", "full"], catch_exceptions=False).output


def test_the_reel_is_printed_once_and_what_is_apart_is_named(tmp_path: Path) -> None:
    for number, level in enumerate((100, 104, 108, 112, 220), 1):
        iio.imwrite(tmp_path / f"quay_{number}.png", np.full((36, 64, 3), level, np.uint8))
    words = [str(tmp_path), "--reel", "--ascii", "--width", "60", "--height", "13"]
    lines = CliRunner().invoke(command, words, catch_exceptions=False).output.splitlines()
    assert lines[0] == "reel ~ 5 shots, 1 outlier"
    assert max(map(len, lines)) <= 60
    column = lines[1].index("!")
    (level,) = [row for row, line in enumerate(lines[2:12]) if "RGB".find(line[column : column + 1] or " ") >= 0]
    assert level == 1  # 220 of 255 is 86 %, in the second of ten rows from 105 to -5 %
    (told,) = [line for line in lines if line.startswith("! 5 quay_5.png: ")]
    assert "86 %, the reel's is" in told
    assert " +- " in told  # for the sign that ASCII lacks


def test_a_reel_with_a_broken_shot_names_it_and_draws_the_rest(quay: Path) -> None:
    quay.with_name("quay_02.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    result = CliRunner().invoke(command, [str(quay.parent), "--reel", "--ascii"])
    assert result.exit_code == 1
    assert "reel ~ 2 shots" in result.output
    assert "quay_02.png: " in result.stderr
