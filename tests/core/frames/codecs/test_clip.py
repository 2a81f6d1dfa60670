"""Clips: exact codes by the published matrices, exact frames in any order, tags, and what is refused."""

import subprocess
from fractions import Fraction
from pathlib import Path

import av
import clips
import colour
import imageio_ffmpeg
import numpy as np
import pytest
from PIL import Image

from poise.errors import FrameError
from poise.frames import Depth, probe, read
from poise.frames.clip_frame import ClipFrame
from poise.frames.codecs.clip.codec import opened
from poise.frames.codecs.clip.facts import timecode
from poise.frames.codecs.clip.planes import rgb
from poise.frames.frame import Pixels
from poise.frames.tags import Tags
from poise.frames.timing import Timing

LAYOUT = "yuv422p10le"
MATRICES = {"BT.601": "ITU-R BT.601", "BT.709": "ITU-R BT.709", "BT.2020": "ITU-R BT.2020"}


def exact(planes: list[np.ndarray], bits: int, matrix: str, narrow: bool) -> np.ndarray:
    """R'G'B' codes in float64, by colour-science; for chroma at every place of luma."""
    values = colour.YCbCr_to_RGB(
        np.stack(planes, -1).astype(np.float64),
        K=colour.WEIGHTS_YCBCR[MATRICES[matrix]],
        in_bits=bits,
        in_legal=narrow,
        in_int=True,
        out_legal=False,
    )
    codes = (219 * values + 16) * 2 ** (bits - 8) if narrow else values * (2**bits - 1)
    return np.clip(codes, 0, 2**bits - 1)


@pytest.mark.parametrize("narrow", [True, False])
@pytest.mark.parametrize("bits", [8, 10, 12, 16])
@pytest.mark.parametrize("matrix", MATRICES)
def test_codes_are_those_of_the_published_matrix_within_one(matrix: str, bits: int, narrow: bool) -> None:
    random = np.random.default_rng(bits)
    planes = [random.integers(0, 2**bits, (70, 50)).astype(np.uint8 if bits == 8 else np.uint16) for _ in range(3)]
    assert np.abs(rgb(planes, bits, matrix, narrow) - exact(planes, bits, matrix, narrow)).max() <= 0.51


@pytest.mark.parametrize(("across", "down"), [(2, 1), (2, 2), (4, 1)])
def test_chroma_stands_at_the_left_of_a_pair_and_between_two_rows(across: int, down: int) -> None:
    # ITU-T H.273, figure 6 and 7, chroma sample location type 0 ("left")
    height, width = 72, 64
    columns, rows = np.arange(width // across) * across, np.arange(height // down) * down + (down - 1) / 2
    ramp = (20000 + 300.0 * columns[None] + 150.0 * rows[:, None]).astype(np.uint16)
    luma = np.full((height, width), 30000, np.uint16)
    found = rgb([luma, np.full_like(ramp, 32768), ramp], 16, "BT.709", narrow=False)[..., 0]
    inside = np.s_[1 : height - 1, : width - across + 1]
    whole = 20000 + 300.0 * np.arange(width)[None] + 150.0 * np.arange(height)[:, None]
    expected = np.clip(30000 + 2 * (1 - 0.2126) * (whole - 32768), 0, 65535)
    assert np.abs(found - expected)[inside].max() <= 2  # the ramp itself is rounded to whole codes


LOSSLESS = [
    ("a.mkv", "ffv1", "yuv420p"),
    ("a.mkv", "ffv1", "yuv422p10le"),
    ("a.mkv", "ffv1", "yuv444p12le"),
    ("a.mkv", "ffv1", "yuva444p10le"),
    ("a.mkv", "ffv1", "gray10le"),
    ("a.mkv", "ffv1", "gbrp12le"),
    ("a.mov", "v210", "yuv422p10le"),
    ("a.mov", "rawvideo", "uyvy422"),
]


@pytest.mark.parametrize(("name", "codec", "layout"), LOSSLESS)
def test_lossless_codecs_give_the_codes_that_were_stored(name: str, codec: str, layout: str, tmp_path: Path) -> None:
    planar = "yuv422p" if layout == "uyvy422" else layout
    planes = clips.noise(planar)
    stored = planes
    if layout == "uyvy422":  # Cb Y' Cr Y' (SMPTE ST 125, multiplexing)
        luma, blue, red = planes
        stored = [np.stack([blue, luma[:, ::2], red, luma[:, 1::2]], -1).reshape(36, 128)]
        frame = av.VideoFrame(64, 36, "uyvy422")
        frame.planes[0].update(stored[0].tobytes())
        path = tmp_path / name
        with av.open(str(path), "w") as container:
            stream = container.add_stream("rawvideo", rate=25)
            stream.width, stream.height, stream.pix_fmt = 64, 36, "uyvy422"
            container.mux(stream.encode(frame))
    else:
        path = clips.clip(tmp_path / name, codec, layout, [stored] * 2)
    found = read(path)
    bits = found.depth.bits
    assert probe(path).width == found.width == 64
    if layout.startswith("gray"):
        assert np.array_equal(found.pixels[..., 0], planes[0])
        return
    if layout.startswith("gbr"):
        green, blue, red = planes
        assert np.array_equal(found.pixels, np.stack([red, green, blue], -1))
        return
    assert np.array_equal(found.pixels[..., :3], rgb(planes[:3], bits, "BT.601", True))
    if "444" in layout:
        assert np.abs(found.pixels[..., :3] - exact(planes[:3], bits, "BT.601", True)).max() <= 0.51
    if len(planes) == 4:
        assert np.array_equal(found.pixels[..., 3], planes[3])


CODECS = [
    ("a.mov", "prores_ks", "yuv422p10le", {"profile": "hq"}, Depth.U10),
    ("a.mov", "prores_ks", "yuva444p10le", {"profile": "4444"}, Depth.U12),
    ("a.mxf", "dnxhd", "yuv422p10le", {"profile": "dnxhr_hqx"}, Depth.U10),
    ("a.mp4", "libx264", "yuv420p", {"g": "5", "bf": "2", "x264-params": "log-level=none"}, Depth.U8),
    ("a.mkv", "libx264", "yuv422p10le", {"g": "5", "bf": "3"}, Depth.U10),
    ("a.mp4", "libx265", "yuv420p10le", {"x265-params": "log-level=none:keyint=4:bframes=2"}, Depth.U10),
    ("a.mkv", "mjpeg", "yuvj420p", {}, Depth.U8),
]


@pytest.mark.parametrize(("name", "codec", "layout", "options", "depth"), CODECS)
def test_any_frame_is_found_in_any_order(
    name: str, codec: str, layout: str, options: dict[str, str], depth: Depth, tmp_path: Path
) -> None:
    bits = av.VideoFormat(layout, 16, 16).components[0].bits
    codes = [(40 + 15 * place) << (bits - 8) for place in range(12)]
    size = (256, 128) if codec == "dnxhd" else (64, 36)
    path = clips.clip(tmp_path / name, codec, layout, clips.greys(codes, layout, *size), options)
    assert opened(path).count == 12
    judge = by_ffmpeg(path, "gray16le", size)
    for number in (1, 2, 9, 3, 12, 4, 7, 8, 8, 11, 10, 6, 5, 1):
        frame = read(ClipFrame.of(path, number))
        assert frame.depth is depth
        level = np.median(frame.pixels[..., 0]) / 2 ** (depth.bits - 8)
        assert level == pytest.approx(40 + 15 * (number - 1), abs=1.5), number
    assert len(judge) == 12


def by_ffmpeg(path: Path, layout: str, size: tuple[int, int]) -> np.ndarray:
    """All frames as another build of the ffmpeg program decodes them, (count, samples)."""
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-f", "rawvideo", "-pix_fmt", layout, "-"]
    data = subprocess.run(call, capture_output=True, check=True).stdout
    samples = np.frombuffer(data, np.uint16 if layout.endswith("le") else np.uint8)
    assert samples.size, layout
    wide = size[0] * size[1] * (1 if layout.startswith("gray") else 3)
    return samples.reshape(-1, wide)


def test_an_independent_program_gives_the_same_colours(tmp_path: Path) -> None:
    # smooth colour, as noise would compare two chroma filters; the program's own conversion errs by a few codes
    down, across = np.mgrid[:36, :64]
    planes = [60 + 2 * across + down, 90 + across, 160 - across]
    frames = [[plane.astype(np.uint8) for plane in planes]] * 2
    path = clips.clip(tmp_path / "a.mkv", "ffv1", "yuv444p", frames, colorspace=1, color_range=1)
    judge = by_ffmpeg(path, "rgb24", (64, 36))[0].reshape(36, 64, 3).astype(float)
    found = read(path)
    assert found.tags == Tags("ITU-R BT.709", "ITU-R BT.709", "narrow")
    full = np.clip((found.pixels - 16.0) * 255 / 219, 0, 255)
    assert np.abs(full - judge).max() < 3


def test_tags_name_the_encoding_and_the_height_stands_in_for_the_matrix(tmp_path: Path) -> None:
    frames = [clips.noise("yuv420p10le")]
    tagged = clips.clip(
        tmp_path / "a.mkv", "ffv1", "yuv420p10le", frames, colorspace=9, color_range=2, color_primaries=9, color_trc=16
    )
    facts = opened(tagged).facts
    assert (facts.matrix, facts.notes) == ("BT.2020", ())
    assert facts.tags == Tags("ITU-R BT.2100 PQ", "ITU-R BT.2020", "full")
    assert read(tagged).tags == probe(tagged).tags == facts.tags
    high = clips.clip(tmp_path / "b.mkv", "ffv1", "yuv420p", clips.greys([90], height=578))
    low = clips.clip(tmp_path / "c.mkv", "ffv1", "yuv420p", clips.greys([90], height=576))
    assert [opened(path).facts.matrix for path in (high, low)] == ["BT.709", "BT.601"]
    assert opened(high).facts.notes[0] == "its header doesn't state the matrix; BT.709 is used for 578 rows"


def test_facts_of_rate_timecode_and_sound(tmp_path: Path) -> None:
    frames = clips.greys([60, 80, 100], "yuv422p10le")
    path = clips.clip(tmp_path / "a.mov", "prores_ks", "yuv422p10le", frames, sound=True, timecode="10:00:00:12")
    facts = opened(path).facts
    assert (facts.codec, facts.rate, facts.timecode, facts.sound) == ("prores", 25, "10:00:00:12", 1)
    assert read(ClipFrame.of(path, 3)).timing == Timing(Fraction(25), "10:00:00:14")
    assert facts.seconds == pytest.approx(3 / 25)


@pytest.mark.parametrize(
    ("start", "frames", "expected"),
    [
        # SMPTE ST 12-1, 5.2: 107,892 frames an hour at 30/1.001, 17,982 in ten minutes; counts 00 and 01 are left out
        ("00:00:00;00", 1799, "00:00:59;29"),
        ("00:00:00;00", 1800, "00:01:00;02"),
        ("00:00:00;00", 17982, "00:10:00;00"),
        ("00:00:00;00", 107892, "01:00:00;00"),
        ("23:59:59;29", 1, "00:00:00;00"),
        ("00:00:00:00", 1800, "00:01:00:00"),
        ("quay", 1, ""),
    ],
)
def test_timecode_counts_with_and_without_drop_frame(start: str, frames: int, expected: str) -> None:
    assert timecode(start, Fraction(30000, 1001), frames) == expected


def test_frames_at_uneven_times_are_found(tmp_path: Path) -> None:
    frames = clips.greys([40, 80, 120, 160])
    path = clips.clip(tmp_path / "a.mkv", "ffv1", "yuv420p", frames, stamps=[0, 1, 5, 11])
    found = [int(read(ClipFrame.of(path, number)).pixels[0, 0, 0]) for number in (4, 2, 3, 1)]
    assert found == [160, 80, 120, 40]


def hostile(folder: Path) -> dict[str, Path]:
    """Broken clips by the words that tell why each is refused."""
    whole = clips.clip(folder / "whole.mov", "prores_ks", "yuv422p10le", clips.greys([60] * 5, "yuv422p10le"))
    data = whole.read_bytes()
    raw = clips.clip(folder / "raw.mov", "v210", "yuv422p10le", clips.greys([60], "yuv422p10le")).read_bytes()
    bad: dict[str, bytes] = {
        "cut short": data[: len(data) // 2],
        "no index": data[: data.index(b"moov") - 4],
        "empty": b"",
        "holds a PNG": b"",
        "its start is damaged": b"quay " * 40,
        "damaged": data.replace(b"stsd", b"stxd"),
        "its header says": raw.replace((64).to_bytes(2) + (36).to_bytes(2), (20000).to_bytes(2) * 2),
    }
    paths = {}
    for number, (why, content) in enumerate(bad.items()):
        paths[why] = folder / f"bad_{number}.mov"
        paths[why].write_bytes(content)
    Image.new("RGB", (8, 8)).save(paths["holds a PNG"], "PNG")
    paths["has no picture"] = folder / "sound.mov"
    with av.open(str(paths["has no picture"]), "w") as container:
        audio = container.add_stream("pcm_s16le", rate=48000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 480), np.int16), "s16", "mono")
        frame.sample_rate = 48000
        container.mux(audio.encode(frame))
    return paths


def test_broken_clips_are_refused_in_one_line(tmp_path: Path) -> None:
    for why, path in hostile(tmp_path).items():
        for use in (read, probe):
            with pytest.raises(FrameError) as fault:
                use(path)
            assert why in fault.value.reason, (why, fault.value.reason)
            assert "\n" not in str(fault.value)


def test_a_frame_of_another_size_or_beyond_the_end_is_refused(tmp_path: Path) -> None:
    parts = [clips.clip(tmp_path / f"{w}.mkv", "mjpeg", "yuvj420p", clips.greys([90], "yuvj420p", w)) for w in (64, 32)]
    with av.open(str(tmp_path / "both.mkv"), "w") as out, av.open(str(parts[0])) as one, av.open(str(parts[1])) as two:
        stream = out.add_stream_from_template(one.streams.video[0])
        for number, container in enumerate((one, two)):
            for packet in container.demux(container.streams.video[0]):
                if packet.size:
                    packet.stream, packet.pts, packet.dts = stream, 40 * number, 40 * number
                    out.mux(packet)
    path = tmp_path / "both.mkv"
    assert read(ClipFrame.of(path, 1)).width == 64
    with pytest.raises(FrameError, match="frame 2 has another size"):
        read(ClipFrame.of(path, 2))
    with pytest.raises(FrameError, match="it has no frame 3, only 1 to 2"):
        read(ClipFrame.of(path, 3))


def test_a_damaged_frame_costs_itself_only(tmp_path: Path) -> None:
    path = clips.clip(tmp_path / "a.mov", "png", "gray", clips.greys([50, 100, 150], "gray"))
    data = bytearray(path.read_bytes())
    second = data.index(b"\x89PNG", data.index(b"\x89PNG") + 4)
    data[second : second + 60] = bytes(60)
    path.write_bytes(data)
    assert [level(ClipFrame.of(path, number)) for number in (1, 3)] == [50, 150]
    with pytest.raises(FrameError, match="frame 2"):
        read(ClipFrame.of(path, 2))


def level(path: Path) -> int:
    pixels: Pixels = read(path).pixels
    return int(pixels[0, 0, 0])


def test_sizes_are_limited_before_a_frame_is_decoded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = clips.clip(tmp_path / "a.mkv", "ffv1", "yuv420p", clips.greys([90]))
    monkeypatch.setattr("poise.frames.limits.MOST_PIXELS", 64 * 36 - 1)
    with pytest.raises(FrameError, match="its header says 64 x 36 pixels, over the limit of 2,303"):
        read(path)
    monkeypatch.undo()
    monkeypatch.setattr("poise.frames.codecs.clip.container.MOST_FRAMES", 1)
    two = clips.clip(tmp_path / "b.mkv", "ffv1", "yuv420p", clips.greys([90, 100]))
    with pytest.raises(FrameError, match="it has more than 1 frames, over the limit"):
        read(two)


def test_metadata_that_is_no_utf8_does_not_matter(tmp_path: Path) -> None:
    path = clips.clip(
        tmp_path / "a.mov", "prores_ks", LAYOUT, clips.greys([360], LAYOUT), metadata={"title": "quay #1"}
    )
    path.write_bytes(path.read_bytes().replace(b"quay #1", b"qu\xe4y #1"))
    assert read(path).width == 64


@pytest.mark.parametrize(("name", "codec"), [("a.mov", "prores_ks"), ("a.mkv", "ffv1"), ("a.mov", "v210")])
def test_bytes_changed_at_random_are_read_or_refused(name: str, codec: str, tmp_path: Path) -> None:
    whole = clips.clip(tmp_path / name, codec, LAYOUT, clips.greys([200, 400], LAYOUT)).read_bytes()
    random = np.random.default_rng(1)
    refused = []
    for case in range(40):
        data = bytearray(whole)
        for place in random.integers(0, len(data), case % 8 + 1):
            data[place] = random.integers(0, 256)
        path = tmp_path / f"{case}_{name}"
        path.write_bytes(data[: random.integers(1, len(data))] if case % 5 == 0 else data)
        for number in (1, 2):
            try:
                assert read(ClipFrame.of(path, number)).channels == 3
            except FrameError as fault:
                refused.append(str(fault))
    assert refused
    assert not [line for line in refused if "\n" in line]
