"""`apply` as a whole against the codec floor: the fastest lossless decode and encode of the same files, two processes.

Both sides pay for starting their processes; the floor's do nothing but decode and encode.
"""

import json
import tempfile
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import imagecodecs
import tifffile
from measure import medians, poise, row, uhd

FRAMES = 4


def floor_tiff(paths: tuple[Path, Path, str | None]) -> None:
    source, target, compression = paths
    tifffile.imwrite(
        target,
        tifffile.imread(source),
        photometric="rgb",
        compression=compression,
        predictor=bool(compression),
        compressionargs={"level": 1} if compression else None,
    )


def floor_png(paths: tuple[Path, Path, str | None]) -> None:
    source, target, _ = paths
    pixels = imagecodecs.png_decode(source.read_bytes())
    target.write_bytes(imagecodecs.png_encode(pixels, level=1))


def main() -> None:
    for name, suffix, compression, target in (
        ("TIFF none", "tif", None, 2.6),
        ("TIFF zlib", "tif", "zlib", 1.15),
        ("PNG16", "png", None, 1.2),
    ):
        with tempfile.TemporaryDirectory() as made:
            folder = Path(made)
            (folder / "in").mkdir()
            (folder / "floor").mkdir()
            jobs = []
            for i in range(FRAMES):
                file = folder / "in" / f"quay_{i:02}x.{suffix}"
                if suffix == "tif":
                    tifffile.imwrite(
                        file, uhd(i), photometric="rgb", compression=compression, predictor=bool(compression)
                    )
                else:
                    file.write_bytes(imagecodecs.png_encode(uhd(i), level=6))
                decision = {"balance": {"slope": [1.1, 1, 0.9], "offset": [0.02, 0, 0]}, "saturation": 1.1}
                file.with_name(f"{file.name}.poise.json").write_text(json.dumps({"poise": 1, "correction": decision}))
                jobs.append((file, folder / "floor" / file.name, compression))
            work = floor_png if suffix == "png" else floor_tiff

            def floor(work=work, jobs=jobs) -> None:  # type: ignore[no-untyped-def]
                with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
                    list(pool.map(work, jobs))

            def ours(folder: Path = folder) -> None:
                poise("apply", folder / "in", "--out", folder / "out", "--workers", "2", "--fresh")

            measured, reference = medians(ours, floor, runs=3)
            row(f"apply, {name}, {FRAMES} UHD frames, against the codec floor", measured, reference, target)


if __name__ == "__main__":
    main()
