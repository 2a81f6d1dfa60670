"""The codec floor: files are decoded and encoded again, without loss, by whatever does that fastest, and nothing else.

Run as a command of its own with its own processes, as `apply` is, so that both pay for starting them:
`floors.py FORMAT PROCESSES FOLDER FILE...`. One function a format; each loads only what it needs. Milliseconds of
processor time for decoding and encoding one UHD frame with grain, under load, of what was tried:

    TIFF none   tifffile 17 + 15; OpenImageIO 54 + 36; OpenCV 90 + 35
    TIFF zstd   tifffile 147 + 117; OpenImageIO and OpenCV come without zstd
    TIFF zlib   tifffile at level 1
    PNG16       our codec (libpng; libdeflate) 627 + 753; imagecodecs 568 + 2812; OpenCV 804 + 2588; OpenImageIO 671
    EXR half    OpenEXR 193 + 762; OpenImageIO 308 + 709 at zip level 1, which it alone lets one choose
    DPX10       our codec 77 + 72; numpy over the whole picture 112 + 94; OpenImageIO 161 + 233
    JPEG        imagecodecs 51 + 61; OpenCV 54 + 62; OpenImageIO 54; Pillow 108 + 84; all the same tables
"""

import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path

QUALITY = 90


def tiff(compression: str | None, source: Path, target: Path) -> None:
    import tifffile

    pixels = tifffile.imread(source, maxworkers=1)
    level = {"level": 1} if compression else None
    tifffile.imwrite(
        target,
        pixels,
        photometric="rgb",
        compression=compression,
        predictor=bool(compression),
        compressionargs=level,
        maxworkers=1,
    )


def ours(name: str, source: Path, target: Path) -> None:
    from poise.frames.codecs import FORMATS

    codec = FORMATS[name].codec
    codec.write(target, codec.read(source), None)


def exr(source: Path, target: Path) -> None:
    import OpenEXR
    import OpenImageIO as oiio

    with OpenEXR.File(str(source)) as file:
        pixels = file.channels()["RGB"].pixels
    oiio.attribute("threads", 1)
    oiio.attribute("exr_threads", 1)
    spec = oiio.ImageSpec(pixels.shape[1], pixels.shape[0], 3, "half")
    spec.attribute("compression", "zip:1")
    output = oiio.ImageOutput.create(str(target))
    if not (output.open(str(target), spec) and output.write_image(pixels) and output.close()):
        raise OSError(output.geterror())


def jpeg(source: Path, target: Path) -> None:
    import imagecodecs

    pixels = imagecodecs.jpeg8_decode(source.read_bytes())
    target.write_bytes(imagecodecs.jpeg8_encode(pixels, level=QUALITY, subsampling="444"))


FLOORS: dict[str, Callable[[Path, Path], None]] = {
    "tiff-none": partial(tiff, None),
    "tiff-zstd": partial(tiff, "zstd"),
    "tiff-zlib": partial(tiff, "zlib"),
    "png16": partial(ours, "png"),
    "exr-zip": exr,
    "dpx10": partial(ours, "dpx"),
    "jpeg": jpeg,
}


def main(name: str, processes: str, folder: str, *files: str) -> None:
    targets = [Path(folder) / Path(file).name for file in files]
    with ProcessPoolExecutor(int(processes), mp_context=get_context("spawn")) as pool:
        list(pool.map(FLOORS[name], map(Path, files), targets))


if __name__ == "__main__":
    main(*sys.argv[1:])
