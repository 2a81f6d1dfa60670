"""Memory of `apply`: flat in the number of frames, and a worker at UHD within six float32 frames over the interpreter.

The peak of each process is what the kernel says (VmHWM), taken while it runs; small frames are links to one PNG file.
`--frames 50 500 20000` for other numbers.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

import numpy as np
from measure import POISE, uhd

FRAMES = (50, 500, 5000)
UHD_FRAME = 3840 * 2160 * 3 * 4 / 2**20
FLAT = 4096
"""Bytes a frame that the parent may take: its name, its decision, its record. A frame here has 15,552."""


def peaks(*call: str | Path) -> tuple[float, float]:
    """MiB at most of a command, and of the largest of the processes that it started."""
    process = subprocess.Popen(list(map(str, call)), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    parent, below = 0.0, 0.0
    while process.poll() is None:
        parent = max(parent, peak(process.pid))
        below = max([below, *map(peak, children(process.pid))])
        time.sleep(0.02)
    assert process.returncode == 0
    return parent, below


def peak(process: int) -> float:
    try:
        status = Path(f"/proc/{process}/status").read_text()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in status.splitlines() if line.startswith("VmHWM")), 0.0)


def children(process: int) -> list[int]:
    """Those that any of its threads started."""
    found: list[int] = []
    for thread in Path("/proc").glob(f"{process}/task/*/children"):
        with suppress(OSError):
            found += map(int, thread.read_text().split())
    return found


def small(folder: Path, frames: int) -> Path:
    """Stills that are links to one file, each with its sidecar."""
    import imagecodecs

    day = folder / str(frames)
    day.mkdir()
    first = folder / "first.png"
    if not first.exists():
        grain = np.random.default_rng(1).integers(0, 65536, (54, 96, 3), np.uint16)
        first.write_bytes(imagecodecs.png_encode(grain))
    for number in range(frames):
        file = day / f"quay_{number:05}x.png"
        os.link(first, file)
        file.with_name(f"{file.name}.poise.json").write_text('{"poise": 1, "correction": {"saturation": 0.9}}')
    return day


def interpreter() -> float:
    """MiB of a process that has all loaded that a worker loads, and no frame."""
    loads = "import poise.batch.worker, poise.chain.order, poise.engine, poise.frames.codecs.tiff.codec"
    return peaks(sys.executable, "-c", f"{loads}; import time; time.sleep(0.5)")[0]


def large(folder: Path, float32: bool) -> Path:
    import tifffile

    day = folder / f"uhd-{float32}"
    day.mkdir()
    for number in range(4):
        file = day / f"ferry_{number:02}x.tif"
        pixels = uhd(number)
        tifffile.imwrite(file, (pixels / 65535).astype(np.float32) if float32 else pixels, photometric="rgb")
        decision = {"light": {"warmth": -20}, "levels": {"black": 0.03, "white": 0.94}, "saturation": 1.1}
        file.with_name(f"{file.name}.poise.json").write_text(json.dumps({"poise": 1, "correction": decision}))
    return day


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--frames", type=int, nargs="+", default=FRAMES)
    given = arguments.parse_args()
    with tempfile.TemporaryDirectory(prefix="poise-memory-") as made:
        folder, found = Path(made), {}
        for frames in given.frames:
            day = small(folder, frames)
            began = time.monotonic()
            found[frames] = peaks(*POISE, "apply", day, "--out", folder / f"out-{frames}", "--workers", "2")
            took = time.monotonic() - began
            print(
                f"{frames:6d} small frames: parent {found[frames][0]:6.1f} MiB, worker {found[frames][1]:6.1f} MiB, "
                f"{took:6.1f} s"
            )
        few, many = min(found), max(found)
        if few < many:
            grown = (found[many][0] - found[few][0]) * 2**20 / (many - few)
            verdict(f"parent, bytes a frame from {few} to {many}", grown, FLAT)
            verdict("worker, MiB more", found[many][1] - found[few][1], 8)
        bare = interpreter()
        for float32, kind in ((False, "16 bit"), (True, "float")):
            day = large(folder, float32)
            worker = peaks(*POISE, "apply", day, "--out", folder / f"out-{kind}", "--workers", "2")[1]
            verdict(f"worker at UHD {kind}, float32 frames over the interpreter's {bare:.0f} MiB",
                    (worker - bare) / UHD_FRAME, 6)  # fmt: skip


def verdict(what: str, value: float, most: float) -> None:
    print(f"{what:72s} {value:9.2f} <= {most} {'met' if value <= most else 'MISSED'}")


if __name__ == "__main__":
    main()
