"""A clip applied as a movie: its own codec or one by name, with its sound, times and tags; whole or absent."""

import hashlib
import json
import subprocess
from pathlib import Path

import av
import clips
import imageio_ffmpeg
import numpy as np
import pytest
from click.testing import CliRunner, Result

from poise.colour.ranges import narrow_codes
from poise.commands import main
from poise.correction import Correction, Light
from poise.frames import read, scan
from poise.frames.clip_frame import ClipFrame
from poise.frames.codecs.clip.codec import opened
from poise.frames.codecs.clip.planes import rgb, ycbcr
from poise.frames.frame import Pixels

pytestmark = pytest.mark.usefixtures("in_this_process")

LAYOUT = "yuv422p10le"
TAGS = {"colorspace": 1, "color_trc": 1, "color_primaries": 1, "color_range": 1}


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def patches(number: int) -> list[np.ndarray]:
    """Even patches of 32 x 32 in narrow range, BT.709, 10 bit; another order in each frame."""
    random = np.random.default_rng(7)
    colours = np.roll(random.integers(200, 800, (16, 3)), number, axis=0).astype(np.uint16)
    wide = np.repeat(np.repeat(colours.reshape(2, 8, 3), 64, axis=0), 32, axis=1)
    luma, *chroma = ycbcr(wide, 10, "BT.709", True, 2, 1)
    return [luma, *chroma]


@pytest.fixture
def day(tmp_path: Path) -> Path:
    (tmp_path / "day").mkdir()
    frames = [patches(number) for number in range(4)]
    clips.clip(
        tmp_path / "day" / "quay_04.mov",
        "prores_ks",
        LAYOUT,
        frames,
        {"profile": "hq"},
        sound=True,
        timecode="10:00:00:12",
        **TAGS,
    )
    return tmp_path / "day"


def brighter(day: Path, name: str = "quay_04.mov") -> None:
    """A decision for a shot: a tenth of a stop more."""
    from poise.sidecar import Sidecar
    from poise.sidecar.schema import ShotInfo
    from poise.sidecar.write import save

    shot = next(shot for shot in scan([day]).shots if shot.name == name)
    facts = opened(shot.first).facts
    correction = Correction(light=Light(exposure=0.1))
    save(
        shot.sidecar_path,
        Sidecar(shot=ShotInfo.of(shot, facts.width, facts.height), correction=correction, state="balanced"),
        None,
    )


def sound_of(path: Path) -> str:
    """The checksum of a clip's sound as the ffmpeg program decodes it."""
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-map", "0:a", "-f", "s16le", "-"]
    data = subprocess.run(call, capture_output=True, check=True).stdout
    assert data
    return hashlib.sha256(data).hexdigest()


def planes_of(path: Path) -> np.ndarray:
    """The luma of every frame as the ffmpeg program decodes it, in 10 bit."""
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-f", "rawvideo", "-pix_fmt", LAYOUT, "-"]
    data = subprocess.run(call, capture_output=True, check=True).stdout
    return np.frombuffer(data, "<u2").reshape(-1, 2 * 128 * 256)[:, : 128 * 256].reshape(-1, 128, 256)


def middles(picture: Pixels) -> np.ndarray:
    """The middle of each patch, away from the filters of chroma and of the codec."""
    return picture[32::64, 16::32].astype(float)


# what each codec may err in the middle of an even patch, in codes of 10 bit: measured 1, 1, 1, 1 and 6
MOVIES = {None: 2, "prores-4444": 2, "dnxhr-hqx": 2, "ffv1": 1, "h264": 8}


@pytest.mark.parametrize("movie", MOVIES)
def test_a_movie_has_the_corrected_pictures_and_everything_else(movie: str | None, day: Path, tmp_path: Path) -> None:
    brighter(day)
    pictures, out = tmp_path / "pictures", tmp_path / "out"
    assert poise("apply", day, "--out", pictures, "--format", "tiff").exit_code == 0
    done = poise("apply", day, "--out", out, *(["--movie", movie] if movie else []))
    assert done.exit_code == 0, done.output
    (path,) = (path for path in out.iterdir() if path.suffix != ".jsonl")
    source, made = opened(day / "quay_04.mov"), opened(path)
    assert made.count == source.count == 4
    assert [stamp * made.stream.time_base for stamp in made.stamps] == [
        stamp * source.stream.time_base for stamp in source.stamps
    ]
    assert (made.facts.tags, made.facts.matrix, made.facts.rate) == (source.facts.tags, "BT.709", 25)
    assert made.facts.timecode == ("" if movie == "ffv1" else "10:00:00:12")
    assert ("timecode" in done.stderr) == (movie == "ffv1")
    assert sound_of(path) == sound_of(day / "quay_04.mov")
    worst, judge = 0.0, planes_of(path)
    for number in range(1, 5):
        wanted = read(pictures / f"quay_04.{number:04}.tif").pixels
        found = read(ClipFrame.of(path, number))
        scale = 2.0 ** (10 - found.depth.bits)
        worst = max(worst, float(np.abs(middles(found.pixels) * scale - middles(wanted)).max()))
        luma = ycbcr(wanted, 10, "BT.709", True, 1, 1)[0]
        assert np.abs(middles(judge[number - 1]) - middles(luma)).max() <= MOVIES[movie]
    assert worst <= MOVIES[movie]


@pytest.mark.parametrize("movie", ["prores-hq", "prores-4444", "dnxhr-hqx", "ffv1", "h264"])
@pytest.mark.parametrize("layout", ["gbrp10le", "yuv444p10le"])
def test_full_range_keeps_its_levels(layout: str, movie: str, tmp_path: Path) -> None:
    """By what another program makes of source and movie in RGB of full range."""
    (day := tmp_path / "day").mkdir()
    greys = clips.greys([100, 500, 950], layout, 256, 128)
    for planes in greys if layout == "gbrp10le" else ():
        for plane in planes:
            plane[:] = planes[0]
    matrix = {"colorspace": 0} if layout == "gbrp10le" else {"colorspace": 1}
    tags = {**TAGS, **matrix, "color_range": 2}
    path = clips.clip(day / "quay.mkv", "ffv1", layout, greys, **tags)
    done = poise("apply", day, "--out", tmp_path / "out", "--all", "--movie", movie)
    assert done.exit_code == 0, done.output
    (made,) = (one for one in (tmp_path / "out").iterdir() if one.suffix != ".jsonl")
    assert ("full range was converted" in done.stderr) == (movie not in ("ffv1", "h264"))
    levels = []
    for one in (path, made):
        call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(one), "-f", "rawvideo", "-pix_fmt", "rgb48le"]
        data = subprocess.run([*call, "-"], capture_output=True, check=True).stdout
        levels.append(np.median(np.frombuffer(data, "<u2").reshape(3, -1), axis=1) * 1023 / 65535)
    # the program's own conversion errs by up to 4 codes of 1,023; a wrong range is off by 37 and more
    assert np.abs(levels[1] - levels[0]).max() <= 5
    for number, code in enumerate((100, 500, 950), 1):
        found = read(ClipFrame.of(made, number))
        assert found.tags is not None
        black, white = narrow_codes(found.depth.bits) if found.tags.range == "narrow" else (0, found.depth.maximum)
        level = (np.median(found.pixels[..., 0]) - black) / (white - black) * 1023
        assert abs(level - code) <= (4 if movie == "h264" else 1)  # 8 bit have steps of 4


def test_rotation_chapters_and_metadata_are_kept(tmp_path: Path) -> None:
    (day := tmp_path / "day").mkdir()
    frames, title = clips.greys([300, 500], LAYOUT), {"title": "the ferry leaves"}
    clips.clip(day / "quay.mov", "prores_ks", LAYOUT, frames, rotation=90, metadata=title, chapters=["quay", "ferry"])
    brighter(day, "quay.mov")
    done = poise("apply", day, "--out", tmp_path / "out")
    assert "players rotate it by 90 degrees; its frames are processed as stored" in done.stderr
    assert "not kept" not in done.stderr
    with av.open(str(tmp_path / "out" / "quay.mov")) as made:
        assert made.metadata["title"] == "the ferry leaves"
        assert made.metadata["comment"].startswith("poise ")
        assert [chapter["metadata"]["title"] for chapter in made.chapters()] == ["quay", "ferry"]
        assert [frame.rotation for frame in made.decode(video=0)] == [90, 90]


def outputs_faults(day: Path, out: Path) -> set[str]:
    """The faults of outputs that the delivery check finds."""
    found = json.loads(poise("check", day, "--out", out, "--json").stdout)
    return {str(fault["fault"]) for fault in found} & {"missing", "stale", "damaged"}


def test_a_run_is_resumed_and_verified_and_a_neutral_clip_is_copied(day: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert poise("apply", day, "--out", out, "--all").exit_code == 0
    assert (out / "quay_04.mov").read_bytes() == (day / "quay_04.mov").read_bytes()
    brighter(day)
    assert "written again: its decision" in poise("apply", day, "--out", out).stderr
    assert (out / "quay_04.mov").read_bytes() != (day / "quay_04.mov").read_bytes()
    assert "up to date" in poise("apply", day, "--out", out, "--verify").stderr
    assert outputs_faults(day, out) == set()
    report = poise("report", day, "--out", tmp_path / "day.html", "--outputs", out, "--json")
    assert {entry["output"] for entry in json.loads(report.stdout)["files"]} == {"quay_04.mov"}
    (tmp_path / "record.json").write_text(report.stdout)
    assert poise("check", day, "--against", tmp_path / "record.json", "--out", out).exit_code == 0
    (out / "quay_04.mov").write_bytes(b"quay")
    assert outputs_faults(day, out) == {"damaged"}
    assert "written again: the output is missing or was changed" in poise("apply", day, "--out", out).stderr
    assert opened(out / "quay_04.mov").count == 4


def test_what_is_no_mezzanine_becomes_prores_and_what_falls_is_told(tmp_path: Path) -> None:
    (day := tmp_path / "day").mkdir()
    clips.clip(day / "ferry.mp4", "libx264", "yuv420p", clips.greys([60, 90, 120]), {"x264-params": "log-level=none"})
    clips.clip(day / "pier.mkv", "ffv1", "yuva444p12le", clips.greys([900, 1400], "yuva444p12le"))
    for name in ("ferry.mp4", "pier.mkv"):
        brighter(day, name)
    done = poise("apply", day, "--out", tmp_path / "out")
    assert done.exit_code == 0, done.output
    ferry, pier = opened(tmp_path / "out" / "ferry.mov"), opened(tmp_path / "out" / "pier.mkv")
    assert (ferry.facts.codec, ferry.facts.profile, ferry.facts.layout) == ("prores", "HQ", LAYOUT)
    assert (pier.facts.codec, pier.facts.layout) == ("ffv1", "yuva444p12le")
    assert "written as ProRes 422 HQ; the clip is h264" in done.stderr
    again = poise("apply", day / "pier.mkv", "--out", tmp_path / "h264", "--movie", "h264")
    for told in ("12 bit become 8", "chroma of H.264 is coarser", "not kept in H.264: alpha"):
        assert told in again.stderr
    both = poise("apply", day, "--out", tmp_path / "x", "--movie", "ffv1", "--format", "tiff")
    assert (both.exit_code, "use one of them" in both.stderr) == (2, True)


def test_a_frame_that_cannot_be_read_leaves_no_movie(tmp_path: Path) -> None:
    (day := tmp_path / "day").mkdir()
    path = clips.clip(day / "quay.mov", "png", "gray", clips.greys([50, 100, 150], "gray"))
    data = bytearray(path.read_bytes())
    second = data.index(b"\x89PNG", data.index(b"\x89PNG") + 4)
    data[second : second + 60] = bytes(60)
    path.write_bytes(data)
    brighter(day, "quay.mov")
    done = poise("apply", day, "--out", tmp_path / "out")
    assert done.exit_code == 1
    assert f"poise: {path}: frame 2" in done.stderr
    assert [one.name for one in (tmp_path / "out").iterdir() if one.suffix != ".jsonl"] == []


@pytest.mark.parametrize(("across", "down"), [(1, 1), (2, 1), (2, 2)])
@pytest.mark.parametrize("bits", [8, 10, 12])
def test_codes_come_back_from_planes(bits: int, across: int, down: int) -> None:
    down_, across_ = np.mgrid[:70, :66]
    ramps = [300 + 2 * across_ + down_, 200 + 3 * down_, 500 - across_ - down_]
    picture = (np.stack(ramps, -1) << bits >> 10).astype(np.uint8 if bits == 8 else np.uint16)
    planes = ycbcr(picture, bits, "BT.2020", True, across, down)
    assert planes[1].shape == (-(-70 // down), -(-66 // across))
    # av: the shape is that of the library's own layout
    assert av.VideoFormat("yuv420p", 66, 70).chroma_width() == 33
    back = rgb(planes, bits, "BT.2020", True).astype(int) - picture
    assert np.abs(back[2:-2, 2:-3]).max() <= (2 if (across, down) == (1, 1) else 3)


def test_keyframes_of_a_clip_reach_each_frame_of_the_movie(tmp_path: Path) -> None:
    """Between -1 and +1 stop, the frame in the middle keeps its code; the others lose or gain light."""
    (day := tmp_path / "day").mkdir()
    clips.clip(day / "quay.mov", "prores_ks", LAYOUT, clips.greys([400] * 3, LAYOUT))
    ends = [{"frame": frame, "correction": {"light": {"exposure": stops}}} for frame, stops in ((1, -1), (3, 1))]
    (day / "quay.mov.poise.json").write_text(json.dumps({"poise": 1, "keyframes": ends}))
    poise("apply", day, "--out", tmp_path / "out")
    frames = [read(ClipFrame.of(tmp_path / "out" / "quay.mov", number)).pixels for number in (1, 2, 3)]
    low, middle, high = (float(np.median(pixels)) for pixels in frames)
    assert middle == pytest.approx(400, abs=2)
    assert low < 330
    assert high > 500
