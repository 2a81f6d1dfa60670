"""Timecode and frame rate of DPX and OpenEXR: headers laid by other libraries or by hand, and read by them again."""

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import clips
import numpy as np
import OpenEXR
import OpenImageIO as oiio
import pytest
from click.testing import CliRunner
from dpx_blocks import FIELDS, build

from poise.commands import main
from poise.frames import Depth, Frame, read, write
from poise.frames.timing import UNTIMED, Timing, from_number

UNSET = float.fromhex("nan")
FILM = Fraction(24000, 1001)
pytestmark = pytest.mark.usefixtures("in_this_process")


def dpx(path: Path, **fields: Any) -> Path:
    """A DPX whose fields of time are empty, but for those that are given (SMPTE ST 268-1, tables 4 and 5)."""
    grey = np.full((4, 6, 3), 400, np.uint16)
    return build(path, grey, 10, **({"timecode": 0, "tv frame rate": 0.0, "frame rate": 0.0} | fields))


def exr(path: Path, **attributes: Any) -> Path:
    grey = np.full((4, 6), 0.2, np.float16)
    OpenEXR.File(attributes, dict.fromkeys("RGB", grey)).write(str(path))
    return path


def told(path: Path) -> tuple[Any, Any]:
    """Timecode and rate as another library reads them: OpenEXR's own, or OpenImageIO."""
    if path.suffix == ".exr":
        header = OpenEXR.File(str(path)).header()
        code = header["timeCode"]
        return f"{code.hours:02}:{code.minutes:02}:{code.seconds:02}:{code.frame:02}", header["framesPerSecond"]
    spec = oiio.ImageInput.open(str(path)).spec()
    return spec.getattribute("dpx:TimeCode"), spec.getattribute("dpx:TemporalFrameRate")


@pytest.mark.parametrize(
    ("number", "rate"),
    [
        # SMPTE ST 12-1 and ST 2048-1: the rates in use, as a header of 32 bit floats has them
        *((float(np.float32(one)), Fraction(one)) for one in (24, 25, 30, 48, 50, 60, 100, 120)),
        *((float(np.float32(one * 1000 / 1001)), Fraction(one * 1000, 1001)) for one in (24, 30, 48, 60, 120)),
        (23.98, FILM), (23.976, FILM), (29.97, Fraction(30000, 1001)), (59.94, Fraction(60000, 1001)),
        (12.5, Fraction(25, 2)), (16.0, Fraction(16)), (1.0, Fraction(1)),
        (0.0, None), (-24.0, None), (UNSET, None), (float("inf"), None), (3e8, None),
    ],
)  # fmt: skip
def test_a_rate_by_its_decimal_number(number: float, rate: Fraction | None) -> None:
    assert from_number(number) == rate


def test_the_television_header_of_a_dpx(tmp_path: Path) -> None:
    path = dpx(tmp_path / "a.dpx", **{"timecode": 0x01020304, "tv frame rate": 25.0, "frame rate": 24.0})
    assert read(path).timing == Timing(Fraction(25), "01:02:03:04")
    assert told(path)[0] == "01:02:03:04"
    little = dpx(tmp_path / "b.dpx", order="<", **{"timecode": 0x23595924, "frame rate": 23.976})
    assert read(little).timing == Timing(FILM, "23:59:59:24")
    assert FIELDS["timecode"] == (1920, "I")


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"timecode": 0xFFFFFFFF, "tv frame rate": UNSET, "frame rate": UNSET},
        {"timecode": 0x24000000},
        {"timecode": 0x00600000},
        {"timecode": 0x0A000000},
    ],
)
def test_an_empty_or_wrong_field_of_a_dpx_tells_nothing(fields: dict[str, Any], tmp_path: Path) -> None:
    assert read(dpx(tmp_path / "a.dpx", **fields)).timing == UNTIMED


def test_midnight_is_told_where_a_rate_shows_that_somebody_filled_it_in(tmp_path: Path) -> None:
    assert read(dpx(tmp_path / "a.dpx", **{"tv frame rate": 24.0})).timing == Timing(Fraction(24), "00:00:00:00")


def test_the_attributes_of_an_openexr(tmp_path: Path) -> None:
    flags = (1, 1, 1, 1, 1)  # colour frame, field phase and binary groups, which are no digits
    for drop, text in ((0, "10:59:38:27"), (1, "10:59:38;27")):
        code = OpenEXR.TimeCode(10, 59, 38, 27, drop, *flags, *range(1, 9))
        path = exr(tmp_path / "a.exr", timeCode=code, framesPerSecond=Fraction(30000, 1001))
        assert read(path).timing == Timing(Fraction(30000, 1001), text)
    assert read(exr(tmp_path / "b.exr")).timing == UNTIMED
    assert read(exr(tmp_path / "c.exr", timeCode="10:00", framesPerSecond=24.0)).timing == UNTIMED  # of other types


@pytest.mark.parametrize("ending", ["dpx", "exr"])
def test_a_picture_of_another_format_takes_its_time_along(ending: str, tmp_path: Path) -> None:
    timing = Timing(Fraction(25), "10:59:38:24")
    depth = Depth.U10 if ending == "dpx" else Depth.HALF
    frame = Frame(np.zeros((4, 6, 3), depth.dtype), depth, timing=timing)
    assert write(tmp_path / f"a.{ending}", frame) == ()
    assert read(tmp_path / f"a.{ending}").timing == timing
    assert told(tmp_path / f"a.{ending}") == ("10:59:38:24", 25)


@pytest.mark.parametrize(("ending", "options"), [("dpx", ()), ("exr", ("--depth", "half"))])
def test_the_frames_of_a_clip_keep_their_timecode(ending: str, options: tuple[str, ...], tmp_path: Path) -> None:
    (day := tmp_path / "day").mkdir()
    frames = clips.greys([300, 400, 500], "yuv422p10le")
    clips.clip(day / "quay.mov", "prores_ks", "yuv422p10le", frames, timecode="10:00:00:23")
    call = ["apply", str(day), "--all", "--out", str(tmp_path / "out"), "--format", ending, *options]
    done = CliRunner().invoke(main, call)
    assert done.exit_code == 0, done.output
    assert "timecode" not in done.stderr
    codes = [told(path)[0] for path in sorted((tmp_path / "out").glob(f"*.{ending}"))]
    assert codes == ["10:00:00:23", "10:00:00:24", "10:00:01:00"]
    lost = CliRunner().invoke(main, ["apply", str(day), "--all", "--out", str(tmp_path / "plain"), "--format", "tiff"])
    assert "not kept in TIFF: metadata of the movie, timecode, frame rate" in lost.stderr


def test_measure_prints_both_of_the_judged_frame(tmp_path: Path) -> None:
    for place in range(3):
        dpx(tmp_path / f"tide.{place:04}.dpx", **{"timecode": 0x10000000 + place, "tv frame rate": 23.976})
    done = CliRunner().invoke(main, ["measure", "--json", str(tmp_path)])
    (entry,) = json.loads(done.stdout)
    assert (entry["rate"], entry["timecode"]) == (23.976024, "10:00:00:00")
