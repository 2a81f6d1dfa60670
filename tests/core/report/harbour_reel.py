"""A small harbour reel, cut from a real photograph, with everything in it that a sheet must stand."""

import json
import os
from pathlib import Path

import numpy as np
import skimage.data
from click.testing import CliRunner, Result
from PIL import Image

from poise.commands import main

HOSTILE = "<img src=x onerror=alert(1)>'\" & co.png"
BROKEN = "line\nbreak\x07.png"
NOTE = 'ask for the <script>alert("tide")</script>\n</style> table\u2028& the lamp'


def poise(*args: object) -> Result:
    return CliRunner().invoke(main, [os.fspath(arg) if isinstance(arg, Path) else str(arg) for arg in args])


def decide(picture: Path, state: str = "balanced", note: str = "", **correction: object) -> None:
    content = {"poise": 1, "state": state, "note": note, "correction": correction}
    picture.with_name(f"{picture.name}.poise.json").write_text(json.dumps(content))


def frames_of(folder: Path) -> None:
    """Twelve shots: dark to light, warm and cold, a sequence, and those that can't be read or have odd names."""
    photograph = np.asarray(Image.fromarray(skimage.data.chelsea()).resize((96, 54)))
    for number, gain in enumerate((0.35, 0.6, 0.8, 0.9, 0.95, 1.0), 1):
        Image.fromarray((photograph * gain).astype(np.uint8)).save(folder / f"quay_{number}.png")
    for frame in (1001, 1002, 1003):
        Image.fromarray(photograph).save(folder / f"ferry.{frame}.png")
    Image.fromarray(photograph).save(folder / HOSTILE)
    Image.fromarray(photograph).save(folder / BROKEN)
    Image.fromarray(photograph[:1, :1]).save(folder / "dot.png")
    Image.fromarray(photograph[..., 0]).save(folder / "fog.png")
    decide(folder / "fog.png", light={"warmth": 20})  # which no grey picture takes
    (folder / "cut.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    Image.fromarray(photograph).save(os.fsencode(folder) + b"/caf\xe9.png", "PNG")
    decide(folder / "quay_1.png", levels={"black": 0.02, "white": 0.4}, light={"warmth": -20}, saturation=1.1)
    decide(folder / "quay_2.png", "held", NOTE, light={"exposure": 0.5})
    decide(folder / "quay_3.png", "skipped", "not used")
    decide(folder / HOSTILE, note="</textarea><b>bold", mattes=[{"name": "<hull>", "inside": {"turn": 20}}])
    (folder / "quay_4.png.poise.json").write_text("{")
