"""Renders the demo reel and truth.json: real light on real reflectances, then the faults of cameras and hours.

Rerun: python demo_frames/render.py [FOLDER]   (needs poise's own dependencies; the same pixels every time, but for what
another version of an encoder loses of them).

The truth of a shot is its scene under D65, set in light so that the 0.5th and 99.5th percentile of luma stand at code
BLACK and WHITE. The frame is the same scene and setting under the shot's own light, and then its faults.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path

import daylight
import film
import lamplight
import numpy as np
import OpenImageIO as oiio
import tifffile
from canvas import Array, Canvas
from palette import Light, palette
from PIL import Image

LUMA = np.array([0.2126, 0.7152, 0.0722])
BLACK, WHITE = 0.012, 0.965
GRAIN = 0.004
FLICKER = (0.0, 0.09, -0.06, 0.05, -0.08)
"""Stops by which the lamps of the night ferry are brighter from frame to frame: 4.5 % rms."""


@dataclass(frozen=True)
class Fault:
    """Exposure and flicker in stops; saturation about luma; lift and top: the codes where 0 and 1 end up."""

    exposure: float = 0.0
    saturation: float = 1.0
    lift: float = 0.0
    top: float = 1.0
    flicker: float = 0.0


@dataclass(frozen=True)
class Shot:
    """One frame of the reel, or one clip: what is in it, by which light, with which fault."""

    file: str
    scene: Callable[..., None]
    light: Light
    fault: Fault
    seed: int
    size: tuple[int, int] = (640, 360)
    frames: int = 1
    """More than one make a clip, whose scene takes the place in time as `at`, 0..1."""

    def moments(self) -> list[Shot]:
        """Return the frames of a clip as shots, each with grain of its own."""
        last = self.frames - 1
        return [
            replace(self, file=f"{self.file}.{i}", scene=partial(self.scene, at=i / last)) for i in range(self.frames)
        ]


D65, SMALL = Light("D65"), (480, 270)
REEL = (
    Shot("quay_01.tif", daylight.quay, D65, Fault(lift=0.13, top=0.80, saturation=0.85), 1, SMALL),
    Shot("ferry_02.png", daylight.ferry_day, Light("daylight 9000 K"), Fault(), 2),
    Shot("market_03.tif", daylight.market, Light("blackbody 4000 K"), Fault(lift=0.03, top=0.95), 3, SMALL),
    Shot("lighthouse_04.png", daylight.lighthouse_point, D65, Fault(exposure=-1.3), 4),
    Shot("fishmonger_05.png", lamplight.fishmonger, Light("FL2", magenta=-14), Fault(), 5),
    Shot("net_loft_06.tif", lamplight.net_loft, Light("A"), Fault(), 6, SMALL),
    Shot("alley_07.png", lamplight.alley, Light("blackbody 3200 K"), Fault(), 7),
    Shot("slipway_08.exr", daylight.slipway, D65, Fault(exposure=0.7), 8, SMALL),
    Shot("harbour_09.jpg", daylight.harbour, D65, Fault(saturation=0.5, lift=0.05, top=0.9), 9),
    Shot("breakwater_10.png", daylight.breakwater, D65, Fault(), 10),
    Shot("regatta_11.png", daylight.regatta, Light("D55", magenta=12), Fault(exposure=-0.2), 11),
    Shot(
        "pilot_boat_12.mov",
        daylight.pilot_boat,
        Light("daylight 8000 K"),
        Fault(lift=0.08, top=0.86, saturation=0.8),
        13,
        (384, 216),
        24,
    ),
    *(
        Shot(
            f"ferry_night.{101 + i:04d}.png",
            partial(lamplight.ferry_night, at=i / 4),
            Light("LED-B1"),
            Fault(exposure=-0.5, flicker=flicker),
            12,
            SMALL,
        )
        for i, flicker in enumerate(FLICKER)
    ),
)


def encode(light: Array) -> Array:
    """Linear light to sRGB code (IEC 61966-2-1), carried on above 1 and clipped at 0."""
    light = np.clip(light, 0, None)
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


def decode(code: Array) -> Array:
    """The inverse of encode, carried on below 0."""
    return np.where(code <= 0.04045, code / 12.92, ((np.clip(code, 0, None) + 0.055) / 1.055) ** 2.4)


def paint(shot: Shot, light: Light) -> Canvas:
    """Paint the shot's scene by a light."""
    canvas = Canvas(*shot.size, palette(light), shot.seed)
    shot.scene(canvas)
    return canvas


def setting(truth: Canvas) -> tuple[float, float]:
    """Return the veil to take off and the gain that bring the truth to full range."""
    low, high = np.percentile(truth.finished() @ LUMA, (0.5, 99.5))
    dark, bright = decode(np.array([BLACK, WHITE]))
    gain = (bright - dark) / (high - low)
    return float(low - dark / gain), float(gain)


def render(shot: Shot, held: tuple[float, float] | None = None) -> tuple[Array, Array, dict[str, object]]:
    """Return the faulted code, the true code (both (H, W, 3), not quantised) and the shot's entry of truth.json.

    `held` is the setting of another frame, for cameras that keep theirs.
    """
    true = paint(shot, D65)
    veil, gain = held or setting(true)
    truth = encode((true.finished() - veil) * gain)
    neutral = palette(shot.light)["lamp"]
    brightest = float(np.max(neutral))
    # A cast must not push the white of its strongest channel out of range, so the camera closes down for it.
    exposure = 2.0 ** (shot.fault.exposure + shot.fault.flicker) / (brightest if shot.light != D65 else 1.0)
    code = encode((paint(shot, shot.light).finished() - veil * neutral) * gain * exposure)
    luma = (code @ LUMA)[..., None]
    code = luma + shot.fault.saturation * (code - luma)
    code = shot.fault.lift + (shot.fault.top - shot.fault.lift) * code
    code += np.random.default_rng([shot.seed, *shot.file.encode()]).normal(0, GRAIN, code.shape)
    greys = [
        {"rectangle": place, "code": round(float(encode((true.paints[name] @ LUMA * lit - veil) * gain)), 5)}
        for place, name, lit in true.greys
    ]
    entry = {"illuminant": {**asdict(shot.light), "rgb": np.round(neutral / neutral[1], 5).tolist()}, "greys": greys}
    if shot.fault.flicker:
        entry["flicker"] = shot.fault.flicker
    return code, truth, entry


def write(path: Path, code: Array) -> None:
    """Write code at the format's own depth: PNG and JPEG 8 bit, TIFF 16 bit, OpenEXR half and linear."""
    if path.suffix == ".exr":
        spec = oiio.ImageSpec(code.shape[1], code.shape[0], 3, oiio.HALF)
        spec.attribute("compression", "zip")
        spec.attribute("DateTime", "2026:11:25 10:00:00")  # else the clock's, and no two runs alike
        file = oiio.ImageOutput.create(str(path))
        done = file and file.open(str(path), spec)
        if not (done and file.write_image(decode(code).astype(np.float16)) and file.close()):
            raise OSError(f"{path}: {oiio.geterror()}")
    elif path.suffix == ".tif":
        whole = np.floor(np.clip(code, 0, 1) * 65535 + 0.5).astype(np.uint16)
        tifffile.imwrite(path, whole, photometric="rgb", compression="zlib", predictor=True, metadata=None)
    else:
        picture = Image.fromarray(np.floor(np.clip(code, 0, 1) * 255 + 0.5).astype(np.uint8))
        picture.save(path, **({"quality": 92} if path.suffix == ".jpg" else {"optimize": True}))


def main(folder: Path) -> None:
    """Render the whole reel into the folder."""
    shots = {}
    for shot in REEL:
        if shot.frames > 1:
            moments = shot.moments()
            held = setting(paint(moments[0], D65))
            rendered = [render(moment, held) for moment in moments]
            shots[shot.file] = rendered[0][2]
            film.write(folder / shot.file, [decode(code) for code, _, _ in rendered])
            continue
        code, _, shots[shot.file] = render(shot)
        write(folder / shot.file, code)
    (folder / "truth.json").write_text(json.dumps({"shots": shots}, indent=1) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
