"""A wrong matrix or range tag of a clip, overruled in its sidecar: read, measured and written by the right one."""

import json
import subprocess
from pathlib import Path
from typing import Any

import clips
import colour
import imageio_ffmpeg
import numpy as np
import pytest
from click.testing import CliRunner, Result

from poise.commands import main
from poise.correction import Encoding
from poise.correction.reading import file_under
from poise.frames import read
from poise.frames.clip_frame import ClipFrame, Codes
from poise.frames.codecs.clip.codec import opened

pytestmark = pytest.mark.usefixtures("in_this_process")

WRONG = {"colorspace": 6, "color_range": 1, "color_primaries": 1, "color_trc": 1}
LEVELS = np.random.default_rng(3).uniform(0.2, 0.7, (16, 3))


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def planes(full: bool) -> list[np.ndarray]:
    """Patches of known R'G'B' by colour-science's BT.709 matrix, 10 bit."""
    patches = np.repeat(np.repeat(LEVELS.reshape(2, 8, 3), 8, axis=0), 8, axis=1)
    weights = colour.WEIGHTS_YCBCR["ITU-R BT.709"]
    codes = colour.RGB_to_YCbCr(patches, K=weights, out_bits=10, out_legal=not full, out_int=True)
    return [codes[..., place].astype(np.uint16) for place in range(3)]


def wanted(full: bool) -> np.ndarray:
    """The codes of R'G'B' (BT.2100-2, table 9: 64 and 876 steps, or all codes)."""
    return LEVELS * 1023 if full else 64 + 876 * LEVELS


def middles(pixels: Any) -> np.ndarray:
    return np.asarray(pixels)[4::8, 4::8].reshape(16, 3).astype(float)


def decide(path: Path, exposure: float = 0.0, **encoding: Any) -> None:
    named = {"source": "ITU-R BT.709", "delivery": "ITU-R BT.709", **encoding}
    sidecar = {"poise": 1, "state": "balanced", "encoding": named, "correction": {"light": {"exposure": exposure}}}
    path.with_name(path.name + ".poise.json").write_text(json.dumps(sidecar))


@pytest.fixture(params=["matrix", "range"])
def case(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Path, bool, dict[str, str]]:
    """A clip of BT.709 whose tag of matrix or range is wrong, whether its codes are full, and the right encoding."""
    (day := tmp_path / "day").mkdir()
    full = request.param == "range"
    tags = {**WRONG, "colorspace": 1} if full else WRONG
    path = clips.clip(day / "quay.mkv", "ffv1", "yuv444p10le", [planes(full)] * 2, **tags)
    return path, full, {"range": "full"} if full else {"range": "narrow", "matrix": "BT.709"}


def test_a_frame_is_read_by_what_the_sidecar_names(case: tuple[Path, bool, dict[str, str]]) -> None:
    path, full, right = case
    frame = ClipFrame.of(path, 1)
    assert np.abs(middles(read(frame).pixels) - wanted(full)).max() > 3
    under = file_under(frame, Encoding(**right))  # type: ignore[arg-type]
    assert np.abs(middles(read(under).pixels) - wanted(full)).max() <= 1.5
    assert under != frame
    assert file_under(path, Encoding(**right)) is path  # type: ignore[arg-type]


def test_apply_measure_and_the_tags_of_the_output_follow(case: tuple[Path, bool, dict[str, str]]) -> None:
    path, full, right = case
    out = path.parent.parent / "out"
    before = json.loads(poise("measure", "--json", path.parent).stdout)
    decide(path, **right)
    assert json.loads(poise("measure", "--json", path.parent).stdout)[0]["readings"] != before[0]["readings"]
    done = poise("apply", path.parent, "--out", out)
    assert done.exit_code == 0, done.output
    assert "doesn't say" not in done.stderr
    made = opened(out / "quay.mkv").facts
    assert (made.matrix, made.tags.range) == ("BT.709", "full" if full else "narrow")
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(out / "quay.mkv"), "-f", "rawvideo", "-"]
    raw = np.frombuffer(subprocess.run(call, capture_output=True, check=True).stdout, "<u2").reshape(2, 3, 16, 64)
    for plane, source in zip(raw[0], planes(full), strict=True):  # only the tags were wrong: the same codes
        assert np.abs(plane.astype(int) - source.astype(int)).max() <= 1
    pictures = poise("apply", path.parent, "--out", out.with_name("tiff"), "--format", "tiff")
    assert pictures.exit_code == 0, pictures.output
    tiff = read(out.with_name("tiff") / "quay.0001.tif").pixels
    assert np.abs(middles(tiff) - wanted(full)).max() <= 1.5


def test_a_right_sidecar_leaves_a_neutral_clip_byte_for_byte(tmp_path: Path) -> None:
    (day := tmp_path / "day").mkdir()
    path = clips.clip(day / "quay.mkv", "ffv1", "yuv444p10le", [planes(False)], **{**WRONG, "colorspace": 1})
    decide(path, range="narrow", matrix="BT.709")
    assert poise("apply", day, "--out", tmp_path / "out").exit_code == 0
    assert (tmp_path / "out/quay.mkv").read_bytes() == path.read_bytes()


def test_rgb_has_no_matrix_and_a_sidecar_names_one_of_three(tmp_path: Path) -> None:
    path = clips.clip(tmp_path / "quay.mkv", "ffv1", "gbrp10le", [clips.noise("gbrp10le")], colorspace=0, color_range=2)
    frame, other = ClipFrame.of(path, 1), ClipFrame.of(path, 1, Codes("BT.601", "full"))
    np.testing.assert_array_equal(read(other).pixels, read(frame).pixels)
    decide(path, matrix="BT.9")
    told = poise("measure", tmp_path)
    assert told.exit_code == 1
    assert "quay.mkv.poise.json" in told.stderr
    assert "matrix" in told.stderr
