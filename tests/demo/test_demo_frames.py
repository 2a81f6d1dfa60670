"""The demo reel holds what it promises: formats, depths, size, known greys, one fine shot among faulty ones."""

import importlib
import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import imageio_ffmpeg
import numpy as np
import numpy.typing as npt
import OpenImageIO as oiio
import pytest
import tifffile
from click.testing import CliRunner
from PIL import Image

from poise.commands import main
from poise.commands.shared.demo_source import demo_folder

FOLDER = Path(__file__).parents[2] / "demo_frames"
SHOTS: dict[str, dict[str, Any]] = json.loads((FOLDER / "truth.json").read_text())["shots"]
FINE, CLIP = "breakwater_10.png", "pilot_boat_12.mov"
ENDINGS = (".png", ".tif", ".jpg", ".exr", ".mov")
FORMATS = {".png": "PNG", ".jpg": "JPEG"}


def ffmpeg(*arguments: str) -> subprocess.CompletedProcess[bytes]:
    """The program of imageio-ffmpeg on the clip, a build other than that of PyAV."""
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-hide_banner", "-i", str(FOLDER / CLIP), *arguments]
    return subprocess.run(call, capture_output=True, check=False)


def clip_codes() -> npt.NDArray[np.uint16]:
    """Y'CbCr of every frame of the clip, (frames, height, width, 3): each pair of columns has one Cb and Cr."""
    stored = np.frombuffer(ffmpeg("-f", "rawvideo", "-pix_fmt", "yuv422p10le", "-").stdout, "<u2")
    luma, blue, red = np.split(stored.reshape(-1, 2 * 216 * 384), [216 * 384, 3 * 216 * 192], axis=1)
    chroma = [np.repeat(plane.reshape(-1, 216, 192), 2, axis=2) for plane in (blue, red)]
    return np.stack([luma.reshape(-1, 216, 384), *chroma], axis=-1)


def code_of(name: str) -> npt.NDArray[np.float64]:
    """Read a frame, or the first of a clip, as sRGB code, by libraries other than poise."""
    import colour

    path = FOLDER / name
    if path.suffix == ".mov":
        whole = clip_codes()[0].astype(float)
        code = colour.YCbCr_to_RGB(whole, K=colour.WEIGHTS_YCBCR["ITU-R BT.709"], in_bits=10, in_int=True)
        return np.asarray(colour.models.eotf_inverse_sRGB(colour.models.oetf_inverse_BT709(code)))
    if path.suffix == ".tif":
        return np.asarray(tifffile.imread(path) / 65535.0)
    if path.suffix == ".exr":
        light = np.clip(oiio.ImageBuf(str(path)).get_pixels(oiio.FLOAT).astype(float), 0, None)
        return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(Image.open(path)) / 255.0


def grey_error(name: str) -> float:
    """Return the mean CIEDE2000 of the shot's known greys against their truth, both as sRGB."""
    import colour

    code, greys = code_of(name), SHOTS[name]["greys"]
    seen = [code[y : y + h, x : x + w].mean((0, 1)) for x, y, w, h in (grey["rectangle"] for grey in greys)]
    true = [[grey["code"]] * 3 for grey in greys]
    lab = [colour.XYZ_to_Lab(colour.sRGB_to_XYZ(values)) for values in (seen, true)]
    return float(np.mean(colour.delta_E(*lab, method="CIE 2000")))


def test_reel_is_whole_and_small() -> None:
    frames = {path.name for path in FOLDER.iterdir() if path.suffix in ENDINGS}
    assert frames == set(SHOTS)
    assert len({name.split(".")[0] for name in frames}) >= 8
    assert sorted(name for name in frames if "night" in name) == [f"ferry_night.010{i}.png" for i in range(1, 6)]
    assert {Path(name).suffix for name in frames} == set(ENDINGS)
    assert (FOLDER / CLIP).stat().st_size < 1_000_000
    assert sum((FOLDER / name).stat().st_size for name in frames) < 8_000_000


def test_the_reel_of_this_repository_is_copied() -> None:
    assert demo_folder() == FOLDER


def test_the_clip_has_timecode_and_a_little_sound() -> None:
    told = ffmpeg().stderr.decode()
    assert re.search(r"Video: prores \(LT\).*, yuv422p10le\(tv, bt709[^)]*\), 384x216.* 24 fps", told)
    assert re.search(r"timecode +: 10:00:00:00", told)
    assert re.search(r"Audio: pcm_s16le.* 48000 Hz, (mono|1 channels)", told)
    sound = np.frombuffer(ffmpeg("-f", "s16le", "-").stdout, "<i2")
    assert sound.size == 48000  # as long as the 24 frames
    # a note of 110 Hz among them, by the discrete Fourier transform of one second
    assert np.argmax(np.abs(np.fft.rfft(sound))) in range(109, 112)


def test_the_pilot_boat_puts_out_before_a_camera_that_stands_still() -> None:
    codes = clip_codes().astype(float)
    assert len(codes) == 24
    # The hull is the only orange in these rows of water: red on its chroma, far above the middle of 512.
    middles = [np.average(np.arange(150, 320), weights=(red[134:142, 150:320] > 580).sum(0)) for red in codes[..., 2]]
    assert np.all(np.diff(middles) > 0)
    assert middles[-1] - middles[0] == pytest.approx(1.6 * 384 / 16, abs=2)
    for grey in SHOTS[CLIP]["greys"]:  # the card neither moves nor changes
        x, y, w, h = grey["rectangle"]
        assert np.ptp(codes[:, y : y + h, x : x + w, 0].mean(axis=(1, 2))) < 4  # grain alone: 0.6 rms over 49 pixels


@pytest.mark.parametrize("name", SHOTS)
def test_format_and_depth(name: str) -> None:
    path = FOLDER / name
    if path.suffix == ".tif":
        with tifffile.TiffFile(path) as file:
            assert file.pages[0].dtype == np.uint16
            assert file.pages[0].compression == tifffile.COMPRESSION.ADOBE_DEFLATE
            assert file.pages[0].predictor == tifffile.PREDICTOR.HORIZONTAL
    elif path.suffix == ".exr":
        spec = oiio.ImageBuf(str(path)).spec()
        assert (spec.format.basetype, spec.nchannels, spec["compression"]) == (oiio.HALF, 3, "zip")
    elif path.suffix == ".mov":
        assert 64 <= clip_codes()[..., 0].min() < 140 < 640 < clip_codes()[..., 0].max() <= 940
    else:
        with Image.open(path) as picture:
            assert (picture.format, picture.mode) == (FORMATS[path.suffix], "RGB")


@pytest.mark.parametrize("name", SHOTS)
def test_greys_lie_inside_and_hold_their_detail(name: str) -> None:
    code, greys = code_of(name), SHOTS[name]["greys"]
    assert len(greys) == 4
    for grey in greys:
        x, y, w, h = grey["rectangle"]
        assert min(x, y) >= 0
        assert x + w <= code.shape[1]
        assert y + h <= code.shape[0]
        assert min(w, h) >= 6
        patch = code[y : y + h, x : x + w]
        assert 0 < grey["code"] < 1
        assert 0 < patch.min() <= patch.max() < 1  # neither crushed nor clipped
        assert patch.std(axis=(0, 1)).max() < 0.012  # one even patch, grain aside


@pytest.mark.parametrize("name", SHOTS)
def test_only_the_fine_shot_is_fine(name: str) -> None:
    error = grey_error(name)
    assert error < 1 if name == FINE else error > 2


def test_fine_shot_has_full_range() -> None:
    luma = code_of(FINE) @ [0.2126, 0.7152, 0.0722]
    black, white = np.percentile(luma, (0.5, 99.5))
    assert 0.005 < black < 0.025
    assert 0.95 < white < 0.98


def test_ferry_sails_to_the_right() -> None:
    first, last = (code_of(f"ferry_night.{number}.png")[:150, :, 0] for number in ("0101", "0105"))
    # The ferry's lit windows are the brightest part of the left half; their middle moves 2.2 sixteenths of the width.
    middles = [np.average(np.arange(240), weights=(part[60:, :240] > 0.6).sum(0)) for part in (first, last)]
    assert middles[1] - middles[0] == pytest.approx(2.2 * 480 / 16, abs=8)


def test_frames_are_what_the_script_renders(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(FOLDER))
    render = importlib.import_module("render")
    palette = importlib.import_module("palette")
    # Published: the light itself as linear BT.709, D65 white at 1 (colour-science, CIE 1931 2 degree).
    np.testing.assert_allclose(palette.palette(palette.Light("A"))["lamp"], [1.84532, 0.82606, 0.23332], atol=2e-4)
    np.testing.assert_allclose(palette.palette(palette.Light("D65"))["lamp"], [1.00015, 0.99998, 0.99976], atol=2e-4)
    shot = next(shot for shot in render.REEL if shot.file == "quay_01.tif")
    code, _, entry = render.render(shot)
    np.testing.assert_allclose(code_of(shot.file), code, atol=1 / 255)
    assert entry == SHOTS[shot.file]


@pytest.mark.usefixtures("in_this_process")
def test_the_night_flickers_by_the_truth_and_steadying_leaves_a_tenth(tmp_path: Path) -> None:
    """The card of known greys stands still: its light, read with numpy, follows `flicker` in stops."""
    for path in FOLDER.glob("ferry_night.*.png"):
        shutil.copy(path, tmp_path)
    names = sorted(path.name for path in tmp_path.glob("*.png"))
    known = np.array([SHOTS[name].get("flicker", 0.0) for name in names])
    x, y, w, h = SHOTS[names[0]]["greys"][0]["rectangle"]
    code = np.array([code_of(name)[y : y + h, x : x + w].mean(axis=(0, 1))[1] for name in names])
    light = np.log2(((code + 0.055) / 1.055) ** 2.4)
    assert light - light[0] == pytest.approx(known, abs=0.01)
    assert CliRunner().invoke(main, ["steady", str(tmp_path), "--workers", "1"]).exit_code == 0
    gains = json.loads((tmp_path / "ferry_night.####.png.poise.json").read_text())["steady"]["exposure"]
    line = np.polyfit(np.arange(5), left := known + gains, 1)
    assert np.std(left - np.polyval(line, np.arange(5))) <= np.std(known) / 10
