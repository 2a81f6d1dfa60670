"""apply of a UHD sequence with two keyframes, beside the same with one correction: median of pairs, as a ratio.

Between the keyframes everything that auto sets moves: flare, light, levels and saturation, so no table is kept.
"""

import json
import shutil
import tempfile
from pathlib import Path

from measure import pairs, poise, row, uhd

from poise.frames import Depth, Frame, write

FRAMES = 24
FIRST = {
    "light": {"warmth": -30, "magenta": -4, "exposure": 0.1, "flare": [0.02, 0.015, 0.03], "flare_in_code": 0.6},
    "levels": {"black": 0.01, "white": 0.85},
    "saturation": 1.04,
}
LAST = {
    "light": {"warmth": -10, "magenta": 2, "exposure": -0.2, "flare": [0.01, 0.01, 0.02], "flare_in_code": 0.6},
    "levels": {"black": 0.02, "white": 0.95},
    "saturation": 1.1,
}


def sequence(folder: Path, decision: dict[str, object]) -> Path:
    """So many frames, of one picture, and their decision."""
    folder.mkdir()
    first = folder / "quay.0101.tif"
    write(first, Frame(uhd(), Depth.U16))
    for number in range(102, 101 + FRAMES):
        shutil.copy(first, folder / f"quay.{number:04}.tif")
    (folder / "quay.####.tif.poise.json").write_text(json.dumps({"poise": 1, **decision}))
    return folder


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="poise-keyframed-") as made:
        keys = [{"frame": 101, "correction": FIRST}, {"frame": 100 + FRAMES, "correction": LAST}]
        moving = sequence(Path(made) / "moving", {"correction": FIRST, "keyframes": keys})
        still = sequence(Path(made) / "still", {"correction": FIRST})

        def apply(folder: Path) -> None:
            poise("apply", folder, "--out", Path(made) / f"{folder.name}-out", "--workers", "2", "--fresh")

        measured, reference, ratio = pairs(lambda: apply(moving), lambda: apply(still))
        row(f"apply, {FRAMES} UHD frames between two keyframes", measured, reference, 1.15, ratio=ratio)


if __name__ == "__main__":
    main()
