"""`apply` as a whole against the codec floor, for every format; see floors.py for what the floor is.

Both sides are a command with two worker processes over the same files, and pay for starting them. With few frames that
start is most of what is measured, so there are twelve; of the formats that take a second a frame, six.
`--only tiff-none` for one row, `--frames N`, `--runs N` for more pairs; the ratio is the median of those of the pairs.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import floors
import numpy as np
from measure import pairs, poise, row, uhd

CORRECTIONS = {
    "as auto writes it": {
        "light": {"warmth": -30, "magenta": -4, "flare": [0.02, 0.015, 0.03], "flare_in_code": 0.6},
        "levels": {"white": 0.85},
        "saturation": 1.04,
    },
    "without light": {"balance": {"slope": [1.1, 1, 0.9], "offset": [0.02, 0, 0]}, "saturation": 1.1},
}


class Kind(NamedTuple):
    title: str
    target: float
    suffix: str
    frames: int
    make: Callable[[Path, np.ndarray], object]


def tiff(compression: str | None) -> Callable[[Path, np.ndarray], object]:
    import tifffile

    return lambda file, pixels: tifffile.imwrite(
        file, pixels, photometric="rgb", compression=compression, predictor=bool(compression)
    )


def png(file: Path, pixels: np.ndarray) -> None:
    import imagecodecs

    file.write_bytes(imagecodecs.png_encode(pixels, level=6))


def exr(file: Path, pixels: np.ndarray) -> None:
    import OpenEXR

    header = {"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}
    OpenEXR.File(header, {"RGB": (pixels / 65535).astype(np.float16)}).write(str(file))


def dpx(file: Path, pixels: np.ndarray) -> None:
    from poise.frames import Depth, Frame, write

    write(file, Frame(pixels >> 6, Depth.U10))


def jpeg(file: Path, pixels: np.ndarray) -> None:
    from PIL import Image

    Image.fromarray((pixels >> 8).astype(np.uint8)).save(file, quality=floors.QUALITY, subsampling=0)


KINDS = {
    "tiff-none": Kind("TIFF none", 2.2, "tif", 12, tiff(None)),
    "tiff-zstd": Kind("TIFF zstd", 1.25, "tif", 12, tiff("zstd")),
    "tiff-zlib": Kind("TIFF zlib", 1.15, "tif", 6, tiff("zlib")),
    "png16": Kind("PNG16", 1.1, "png", 6, png),
    "exr-zip": Kind("EXR half zip", 1.3, "exr", 6, exr),
    "dpx10": Kind("DPX10", 1.4, "dpx", 12, dpx),
    "jpeg": Kind("JPEG", 1.6, "jpg", 12, jpeg),
}


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--only", choices=KINDS, action="append")
    arguments.add_argument("--frames", type=int)
    arguments.add_argument("--runs", type=int, default=5)
    given = arguments.parse_args()
    for name in given.only or KINDS:
        with tempfile.TemporaryDirectory(prefix="poise-floor-") as made:
            against(name, given.frames or KINDS[name].frames, given.runs, Path(made))


def against(name: str, frames: int, runs: int, folder: Path) -> None:
    kind = KINDS[name]
    for part in ("in", "floor"):
        (folder / part).mkdir()
    files = [folder / "in" / f"quay_{number:02}x.{kind.suffix}" for number in range(frames)]
    for number, file in enumerate(files):
        kind.make(file, uhd(number))
    script = [sys.executable, "-W", "ignore", floors.__file__, name, "2", str(folder / "floor")]

    def floor() -> None:
        subprocess.run([*script, *map(str, files)], check=True, capture_output=True)

    def apply() -> None:
        poise("apply", folder / "in", "--out", folder / "out", "--workers", "2", "--fresh")

    for what, correction in CORRECTIONS.items():
        for file in files:
            sidecar = file.with_name(f"{file.name}.poise.json")
            sidecar.write_text(json.dumps({"poise": 1, "correction": correction}))
        measured, reference, ratio = pairs(apply, floor, runs)
        title = f"apply, {kind.title}, {frames} UHD frames, {what}, and the codec floor"
        row(title, measured, reference, kind.target, ratio=ratio)
    same(name, files[-1], folder / "floor" / files[-1].name)


def same(name: str, source: Path, target: Path) -> None:
    """The floor did its work: no value changed, or the tables are the same."""
    from PIL import Image

    from poise.frames import read

    if name == "jpeg":
        with Image.open(source) as one, Image.open(target) as other:
            assert one.quantization == other.quantization  # type: ignore[attr-defined]
    else:
        assert np.array_equal(read(source).pixels, read(target).pixels)


if __name__ == "__main__":
    main()
