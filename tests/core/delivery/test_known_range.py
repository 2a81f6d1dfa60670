"""The range of files that nothing was decided about: by manifest, stamp and header, through the commands."""

import json
import shutil
import struct
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main
from poise.delivery.known_range import known_range
from poise.frames import Depth, Frame, write

pytestmark = pytest.mark.usefixtures("in_this_process")


def poise(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(one) for one in arguments])


def checked(*arguments: str | Path) -> dict[str, tuple[str, object]]:
    """The faults of the range and of what lies outside, by file."""
    found = json.loads(poise("check", *arguments, "--limits", "ebu-r103", "--json").stdout)
    return {
        Path(one["file"]).name: (one["fault"], one["value"]) for one in found if one["fault"] in ("range", "outside")
    }


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """Pictures that use every code from 0 to 255: in narrow range a quarter of each would lie outside."""
    ramp = np.linspace(0, 255, 64 * 36).round().astype(np.uint8).reshape(36, 64)
    for name in ("quay.png", "ferry.tif", "market.jpg"):
        Image.fromarray(np.stack([ramp] * 3, axis=2)).save(tmp_path / name)
        decision = {"poise": 1, "correction": {"saturation": 1.1}}
        if name == "ferry.tif":
            decision["encoding"] = {"source": "sRGB", "delivery": "sRGB", "range": "narrow"}
        (tmp_path / f"{name}.poise.json").write_text(json.dumps(decision))
    return tmp_path


def test_outputs_of_apply_have_the_range_that_they_were_written_in(day: Path, tmp_path: Path) -> None:
    """By the manifest; of copies without it, by the stamp that stands in each file."""
    out, copies = tmp_path / "out", tmp_path / "copies"
    assert poise("apply", day, "--out", out, "--workers", 1).exit_code == 0
    wanted = {"quay.png": "full", "ferry.tif": "narrow", "market.jpg": "full"}
    assert {name: known_range(out / name) for name in wanted} == wanted
    assert checked(out) == {"quay.png": ("range", "full"), "market.jpg": ("range", "full")}
    copies.mkdir()
    for name in wanted:
        shutil.copyfile(out / name, copies / name)
    assert {name: known_range(copies / name) for name in wanted} == wanted
    assert checked(copies) == checked(out)
    shutil.copyfile(day / "quay.png", out / "quay.png")  # another file took the place of the recorded one
    assert known_range(out / "quay.png") is None


def test_where_nothing_tells_it_the_command_asks_and_takes_the_answer(day: Path, tmp_path: Path) -> None:
    bare = tmp_path / "bare"
    bare.mkdir()
    shutil.copyfile(day / "quay.png", bare / "quay.png")
    assert checked(bare) == {"quay.png": ("range", "unknown")}
    told = poise("check", bare, "--limits", "ebu-r103")
    assert told.exit_code == 1
    assert told.stdout.startswith("format: 1 shot: range unknown, expected narrow (ebu-r103)\n")
    assert "say it with --range full or --range narrow" in told.stdout
    assert checked(bare, "--range", "full") == {"quay.png": ("range", "full")}
    fault, share = checked(bare, "--range", "narrow")["quay.png"]
    assert (fault, share) == ("outside", pytest.approx(100 * (5 + 9) / 256, abs=0.5))  # 5..246 of 8 bits (EBU R 103)
    assert poise("check", bare).stdout.count("range") == 0


@pytest.mark.parametrize(
    ("low", "high", "wanted"),
    [(64, 940, "narrow"), (0, 1023, "full"), (95, 685, None), (0xFFFFFFFF, 0xFFFFFFFF, None)],
)
def test_a_dpx_header_tells_by_its_reference_codes(tmp_path: Path, low: int, high: int, wanted: str | None) -> None:
    """Reference low and high data code are at byte 784 and 792 (SMPTE ST 268-1, image element)."""
    file = tmp_path / "quay.dpx"
    write(file, Frame(np.full((4, 8, 3), 500, np.uint16), Depth.U10))
    content = bytearray(file.read_bytes())
    struct.pack_into(">I", content, 784, low)
    struct.pack_into(">I", content, 792, high)
    file.write_bytes(content)
    assert known_range(file) == wanted
