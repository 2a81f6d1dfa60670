"""Bad input: each gets its one line and its exit code, and nothing is lost."""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")

SIDECAR = json.dumps({"poise": 1, "correction": {"levels": {"black": 0.02, "white": 0.9}}})


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def shot(path: Path, sidecar: str | None = SIDECAR) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.fromarray(skimage.data.astronaut()[:64, :96]).save(path)
    if sidecar:
        path.with_name(path.name + ".poise.json").write_text(sidecar)
    return path


@pytest.mark.parametrize("command", [("measure",), ("auto",), ("reset",), ("apply", "--out", "out")])
def test_no_pictures_is_nothing_to_do(command: tuple[str, ...], tmp_path: Path) -> None:
    empty, missing = poise(*command, tmp_path), poise(*command, tmp_path / "no such")
    assert (empty.exit_code, missing.exit_code) == (2, 2)
    assert f"poise: {tmp_path}: no pictures" in empty.stderr
    assert f"poise: {tmp_path / 'no such'}: no such file or folder" in missing.stderr
    assert empty.stdout == missing.stdout == ""


@pytest.mark.parametrize(
    "args",
    [
        ("nonsense",),
        ("apply", "x"),
        ("export", "x", "--out", "y"),
        ("apply", "x", "--out", __file__),
        ("apply", "x", "--out", "y", "--depth", "9"),
        ("copy",),
    ],
)
def test_wrong_usage_is_one_line(args: tuple[str, ...]) -> None:
    result = poise(*args)
    assert result.exit_code == 2
    assert result.stderr.startswith("poise: ")
    assert len(result.stderr.splitlines()) == 1
    assert "\\" not in result.stderr  # no tab or line end of a library, told as an escape


def test_a_folder_opens_the_app_and_an_empty_one_says_what_is_looked_for(tmp_path: Path) -> None:
    result = poise(tmp_path)
    assert result.exit_code == 2
    assert (
        result.stderr
        == f"poise: {tmp_path}: no pictures in this folder; poise reads .tif .png .jpg .exr .dpx .webp .bmp .mov\n"
    )


def test_a_folder_with_a_typing_error_is_named() -> None:
    result = poise("harbuor")
    assert result.exit_code == 2
    assert "harbuor: no such command, file or folder" in result.stderr


def test_alone_it_explains_itself() -> None:
    result = poise()
    assert result.exit_code == 2
    for word in ("poise FOLDER opens the terminal app", "poise demo", "Commands:"):
        assert word in result.stderr


def test_one_bad_frame_never_stops_the_rest(tmp_path: Path) -> None:
    day, out = tmp_path / "day", tmp_path / "out"
    good = shot(day / "a.png")
    for name, content in (("b.png", b""), ("c.png", good.read_bytes()[:900]), ("d.png", b"GIF89a" + bytes(99))):
        shot(day / name).write_bytes(content)
    shot(day / "e.png", '{"poise": 1, "correction": {"saturation": NaN}}')
    shot(day / "f.png", '{"poise": 99}')
    result = poise("apply", day, "--out", out, "--json", "--workers", 1)
    assert result.exit_code == 1
    told = json.loads(result.stdout)
    assert told["done"] == [str(good)]
    assert len(told["failed"]) == 5
    assert len([line for line in result.stderr.splitlines() if line.startswith("poise: ")]) == 5
    assert sorted(p.name for p in out.iterdir()) == ["a.png", "poise-manifest.jsonl"]
    assert poise("measure", day / "a.png", day / "b.png").exit_code == 1


@pytest.mark.parametrize(
    ("correction", "told"),
    [
        (
            {"curves": {"red": [[0, 0], [0.5, 0.4], [0.5, 0.6], [1, 1]]}},
            "correction.curves.red[2]: inputs must rise by at least 0.0001 from point to point",
        ),
        (
            {"curves": {"master": [[0, 0], [0.5, 0.6], [0.6, 0.5], [1, 1]]}},
            "correction.curves.master[2]: outputs must not fall from point to point",
        ),
        (
            {"curves": {"blue": [[i / 256, i / 256] for i in range(257)]}},
            "correction.curves.blue: Expected `array` of length <= 256",
        ),
        (
            {"mattes": [{"name": "sail"}] * 9},
            "correction.mattes: Expected `array` of length <= 8",
        ),
        (
            {"mattes": [{"name": "sail"}, {"name": "sea", "hue": {"high": 400}}]},
            "correction.mattes[1].hue.high: Expected `float` <= 360.0",
        ),
    ],
)
def test_a_bad_curve_or_matte_is_one_line_with_its_key_path(
    tmp_path: Path, correction: dict[str, object], told: str
) -> None:
    path = shot(tmp_path / "day" / "quay_02.png", json.dumps({"poise": 1, "correction": correction}))
    for command in (("measure", "--corrected"), ("apply", "--out", tmp_path / "out", "--workers", 1)):
        result = poise(command[0], tmp_path / "day", *command[1:])
        assert result.exit_code == 1
        assert result.stderr.splitlines()[0] == f"poise: {path}.poise.json: {told}"
    assert not (tmp_path / "out").exists()


def test_mattes_on_odd_sizes_and_numbers(tmp_path: Path) -> None:
    import tifffile

    Image.new("RGB", (1, 1), (90, 90, 90)).save(tmp_path / "one.png")
    Image.new("RGB", (5000, 1), (90, 90, 90)).save(tmp_path / "strip.png")
    picture = np.full((40, 40, 3), 0.2, np.float32)
    picture[0, 0], picture[1, 1, 2] = np.nan, np.inf
    tifffile.imwrite(tmp_path / "lost.tif", picture, photometric="rgb")
    matte = {"name": "all", "denoise": 0.1, "blur": 0.5, "inside": {"balance": {"slope": [2, 2, 2]}}}
    for path in tmp_path.iterdir():
        path.with_name(f"{path.name}.poise.json").write_text(
            json.dumps({"poise": 1, "correction": {"mattes": [matte]}})
        )
    result = poise("apply", tmp_path, "--out", tmp_path / "out", "--workers", 1)
    assert (result.exit_code, result.stderr.count("poise: ")) == (0, 0)
    for name, shape in (("one.png", (1, 1)), ("strip.png", (1, 5000))):
        out = np.asarray(Image.open(tmp_path / "out" / name))
        assert out.shape == (*shape, 3)
        assert (out == 180).all()
    out = tifffile.imread(tmp_path / "out" / "lost.tif")
    np.testing.assert_array_equal(out[[0, 1], [0, 1]], picture[[0, 1], [0, 1]])
    assert out[2:, 2:].min() > 0.5  # twice the code of a light of 0.2; the two lost pixels take a little of it
    entries = json.loads(poise("measure", tmp_path, "--corrected", "--json").stdout)
    shares = {Path(entry["file"]).name: entry["mattes"][0]["coverage"]["share"] for entry in entries}
    assert (shares["one.png"], shares["strip.png"]) == pytest.approx((100, 100), abs=0.01)
    assert 99 < shares["lost.tif"] < 100


def test_what_a_sidecar_says_of_its_picture_leads_nowhere(tmp_path: Path) -> None:
    """Whatever file and frames it names, the picture beside it is done, and nothing else is read or written."""
    plain, out = shot(tmp_path / "day" / "a.png"), tmp_path / "out"
    secret = shot(tmp_path / "secret" / "b.png", None)
    before = secret.read_bytes()
    assert poise("apply", tmp_path / "day", "--out", out, "--workers", 1).exit_code == 0
    wanted = (out / "a.png").read_bytes()
    for name in ("../secret/b.png", str(secret), "b.png", "file://" + str(secret), "\u0000", "x" * 5000):
        about = {"file": name, "width": 2**40, "height": 0, "frames": [-(2**60), 2**60]}
        sidecar = json.dumps(json.loads(SIDECAR) | {"shot": about})
        plain.with_name("a.png.poise.json").write_text(sidecar)
        assert poise("apply", tmp_path / "day", "--out", out, "--workers", 1, "--fresh").exit_code == 0
        assert (out / "a.png").read_bytes() == wanted
    assert secret.read_bytes() == before
    assert sorted(path.name for path in out.iterdir()) == ["a.png", "poise-manifest.jsonl"]


def test_the_source_folder_is_never_written_to(tmp_path: Path) -> None:
    before = shot(tmp_path / "a.png").read_bytes()
    result = poise("apply", tmp_path, "--out", tmp_path)
    assert result.exit_code == 2
    assert "holds the sources" in result.stderr
    assert (tmp_path / "a.png").read_bytes() == before


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder where not even root can write")
def test_a_folder_that_takes_no_outputs(tmp_path: Path) -> None:
    shot(tmp_path / "day" / "a.png")
    out = Path("/proc/self/poise-out")
    result = poise("apply", tmp_path / "day", "--out", out)
    assert result.exit_code == 1
    assert result.stderr.splitlines()[-1].startswith(f"poise: {out}: no outputs can be written here")
    (tmp_path / "file").touch()
    for call in (("apply",), ("check",), ("export", "--to", "cdl")):
        result = poise(*call, tmp_path / "day", "--out", tmp_path / "file")
        assert result.exit_code == 2
        assert result.stderr.endswith(f"file' is a file; see main {call[0]} --help\n")


def test_gaps_are_told_and_the_others_taken(tmp_path: Path) -> None:
    for number in (1, 2, 5):
        shot(tmp_path / "day" / f"f.{number:04d}.png", None)
    result = poise("measure", tmp_path / "day", "--json")
    assert result.exit_code == 0
    assert "frames 3 to 4 are missing" in result.stderr
    assert json.loads(result.stdout)[0]["frames"] == 3


def test_names_with_spaces_unicode_and_newlines(tmp_path: Path) -> None:
    names = ["quay at noon.png", "Hafen \u00e4\u6e2f.png", "two\nlines.png"]
    for name in names:
        shot(tmp_path / "day" / name)
    shot(tmp_path / "day" / "bad\nname.png").write_bytes(b"")
    result = poise("apply", tmp_path / "day", "--out", tmp_path / "out", "--workers", 1)
    assert result.exit_code == 1
    assert "bad\\nname.png: the file is empty" in result.stderr
    assert all((tmp_path / "out" / name).is_file() for name in names)
    assert len(poise("measure", tmp_path / "out").stdout.splitlines()) == 4


def test_odd_sizes_and_numbers(tmp_path: Path) -> None:
    import tifffile

    Image.new("RGB", (1, 1), (9, 9, 9)).save(tmp_path / "one.png")
    Image.new("RGB", (5000, 1)).save(tmp_path / "strip.png")
    picture = np.full((4, 4, 3), 0.2, np.float32)
    picture[0, 0], picture[1, 1] = np.nan, np.inf
    tifffile.imwrite(tmp_path / "lost.tif", picture, photometric="rgb")
    assert poise("auto", tmp_path).exit_code == 0
    result = poise("measure", tmp_path, "--json", "--corrected")
    assert result.exit_code == 0
    assert all(entry["readings"]["luma"]["black"] is not None for entry in json.loads(result.stdout))


def test_what_a_library_prints_reaches_nobody(tmp_path: Path) -> None:
    """The OpenEXR library writes to stdout and stderr by itself when a chunk is damaged: JSON stays JSON."""
    from poise.frames import Depth, Frame, write

    path = tmp_path / "a.exr"
    write(path, Frame(skimage.data.astronaut()[:64, :96].astype(np.float16), Depth.HALF, linear=True))
    data = bytearray(path.read_bytes())
    data[-900:-100] = bytes(800)
    path.write_bytes(data)
    shot(tmp_path / "b.png", None)
    code = "from poise.commands import main; main()"
    said = subprocess.run(
        [sys.executable, "-c", code, "measure", str(tmp_path), "--json"], capture_output=True, text=True, check=False
    )
    assert said.returncode == 1
    assert [Path(entry["file"]).name for entry in json.loads(said.stdout)] == ["b.png"]
    (line,) = said.stderr.splitlines()
    assert line.startswith(f"poise: {path}: the file is damaged")


def test_stdout_closed_early_is_quiet(tmp_path: Path) -> None:
    shot(tmp_path / "a.png")
    reader, writer = os.pipe()
    os.close(reader)
    code = "from poise.commands import main; main()"
    result = subprocess.run(
        [sys.executable, "-c", code, "measure", str(tmp_path)], stdout=writer, stderr=subprocess.PIPE, check=False
    )
    os.close(writer)
    assert (result.returncode, result.stderr) == (0, b"")
