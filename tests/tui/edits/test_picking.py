"""Picking a grey on a photograph under a known tint: what is pointed at becomes neutral, or it is said why not."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from skimage import data

from poise.correction import NEUTRAL, Balance, Correction, Light
from poise.engine.reference import reference
from poise.errors import PoiseError
from poise.frames import Depth, Frame, read, scan
from poise_tui.desk import PATCHES
from poise_tui.edits import picking
from poise_tui.measure.loaded import Loaded, loaded
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture

TINT = np.array([1.15, 1.0, 0.75])
"""Gains in light: a lamp warmer than the one that the picture is balanced for."""
WALL = (72.5 / 512, 8.5 / 512)
"""A grey wall in skimage's astronaut, by eye and by code: R, G and B within 2.3 of 255 of each other."""
SQUARE = (slice(3, 14), slice(67, 78))
"""What a patch of 0.02 of 512 rows takes there: five pixels either way of row 8 and column 72."""


def decoded(code: np.ndarray) -> np.ndarray:
    """Light of sRGB code (IEC 61966-2-1)."""
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def encoded(light: np.ndarray) -> np.ndarray:
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


def tinted(gain: float = 0.6) -> np.ndarray:
    """The astronaut in the light of the tint, with its wall made exactly neutral before."""
    light = decoded(data.astronaut() / 255)
    light[:16, 64:80] = light[:16, 64:80].mean(axis=2, keepdims=True)
    return np.rint(np.clip(encoded(light * TINT * gain), 0, 1) * 255).astype(np.uint8)


def opened(folder: Path, pixels: np.ndarray) -> tuple[Session, Loaded]:
    """A session at the picking mode over one picture, which is small enough to be its own proxy."""
    file = folder / "quay.png"
    Image.fromarray(pixels).save(file)
    frame = read(file)
    picture = loaded(file, None, frame, np.ascontiguousarray(frame.colour))
    session = Session(scan([folder]).shots)
    session.set_picture(0, Picture(picture.width, picture.height, False, picture.grey))
    session.work("pick")
    return session, picture


def mean(session: Session, pixels: np.ndarray) -> np.ndarray:
    """Red, green and blue of the square under the cursor after the correction, in code, from the float64 reference."""
    slot = session.slot
    made = reference(pixels[SQUARE], slot.decision.correction, slot.encoding, Depth.U8)
    return np.asarray(made.reshape(-1, 3))


def test_by_light_the_patch_is_neutral_in_linear_light(tmp_path: Path) -> None:
    pixels = tinted()
    session, picture = opened(tmp_path, pixels)
    session.hold(place=WALL)
    before = decoded(mean(session, pixels)).mean(axis=0)
    assert before / before[1] == pytest.approx(TINT, abs=0.01)
    said = picking.pick(session, picture, "light")
    after = decoded(mean(session, pixels)).mean(axis=0)
    # warmth and magenta are kept to a hundredth of their units: within two thousandths of the patch's own light
    assert np.ptp(after) < 0.002 * after[1]
    correction = session.slot.decision.correction
    assert correction == Correction(light=correction.light)
    assert correction.light.warmth < 0  # against a lamp that was too warm
    assert f"warmth {correction.light.warmth:+.1f} mired" in said
    assert picking.pick(session, picture, "light").endswith("left alone")
    assert session.slot.history.depth == 1


@pytest.mark.parametrize(("gain", "moved"), [(0.08, "offset"), (0.5, "power"), (1.1, "slope")])
def test_by_zone_the_patch_is_neutral_in_code(tmp_path: Path, gain: float, moved: str) -> None:
    pixels = tinted(gain)
    session, picture = opened(tmp_path, pixels)
    session.hold(place=WALL)
    before = mean(session, pixels).mean(axis=0)
    said = picking.pick(session, picture, "zone")
    after = mean(session, pixels).mean(axis=0)
    # a quarter of an 8-bit code between the channels; and they meet at the luma that they had (ITU-R BT.709-6)
    assert np.ptp(before) > 10 / 255
    assert np.ptp(after) < 0.001
    assert after[1] == pytest.approx(before @ [0.2126, 0.7152, 0.0722], abs=0.001)
    balance, neutral = session.slot.decision.correction.balance, Balance()
    assert session.slot.decision.correction == Correction(balance=balance)
    assert getattr(balance, moved) != getattr(neutral, moved)
    assert "levelled in the" in said


def test_a_pick_goes_on_from_what_was_decided_and_undo_goes_back(tmp_path: Path) -> None:
    pixels = tinted()
    session, picture = opened(tmp_path, pixels)
    session.correct(Correction(light=Light(exposure=0.25), saturation=1.2))
    before = session.slot.decision
    session.hold(place=WALL)
    picking.pick(session, picture, "light")
    found = session.slot.decision.correction
    assert found == replace(before.correction, light=Light(0.25, found.light.warmth, found.light.magenta))
    assert np.ptp(decoded(mean(session, pixels)).mean(axis=0)) < 0.003
    session.undo()
    assert session.slot.decision == before


def test_the_patch_is_the_one_under_the_cursor(tmp_path: Path) -> None:
    """Two greys under two tints: the one that is pointed at becomes neutral, the other does not."""
    pixels = np.empty((100, 160, 3), np.uint8)
    pixels[:, :80], pixels[:, 80:] = (120, 100, 80), (80, 100, 120)
    session, picture = opened(tmp_path, pixels)
    signs = []
    for place in ((0.25, 0.5), (0.75, 0.5)):
        session.hold(place=place)
        picking.pick(session, picture, "light")
        signs.append(np.sign(session.slot.decision.correction.light.warmth))
        made = reference(pixels, session.slot.decision.correction, session.slot.encoding, Depth.U8)
        row, column = 50, int(place[0] * 160)
        assert np.ptp(made[row, column]) < 0.002
        assert np.ptp(made[row, 159 - column]) > 0.1
        session.undo()
    assert signs == [-1, +1]


@pytest.mark.parametrize("how", ["light", "zone"])
@pytest.mark.parametrize(
    ("code", "told"),
    [
        ((0, 0, 0), "black, so it has no colour"),
        ((255, 255, 255), "clipped, so its colour is lost"),
        ((255, 180, 120), "clipped, so its colour is lost"),
        ((200, 60, 20), "too coloured to be a grey"),
    ],
)
def test_what_cannot_be_grey_is_refused_with_the_reason(
    tmp_path: Path, how: picking.How, code: tuple[int, int, int], told: str
) -> None:
    session, picture = opened(tmp_path, np.full((40, 60, 3), code, np.uint8))
    with pytest.raises(PoiseError, match=told):
        picking.pick(session, picture, how)
    assert session.slot.decision.correction == NEUTRAL


@pytest.mark.parametrize("how", ["light", "zone"])
def test_pixels_that_are_no_numbers_are_refused_or_left_out(tmp_path: Path, how: picking.How) -> None:
    session, _ = opened(tmp_path, np.zeros((4, 4, 3), np.uint8))
    pixels = np.full((100, 100, 3), (0.24, 0.2, 0.16), np.float32)
    pixels[:50] = np.nan
    pixels[75, ::2] = np.inf
    picture = loaded(tmp_path / "sea.exr", None, Frame(pixels, Depth.FLOAT, linear=True), pixels)
    session.set_picture(0, Picture(100, 100, linear=True, grey=False))
    session.hold(place=(0.5, 0.2))
    with pytest.raises(PoiseError, match="no valid pixels in the patch"):
        picking.pick(session, picture, how)
    session.hold(place=(0.5, 0.75), patch=2)
    picking.pick(session, picture, how)
    light = reference(pixels[90:91, :1], session.slot.decision.correction, session.slot.encoding, Depth.FLOAT)
    assert np.ptp(light) < 0.002
    assert session.slot.decision.correction != NEUTRAL


def test_a_grey_picture_has_nothing_to_pick(tmp_path: Path) -> None:
    session, picture = opened(tmp_path, data.camera())
    with pytest.raises(PoiseError, match="grey picture"):
        picking.pick(session, picture, "light")


@pytest.mark.parametrize("size", [(960, 540), (540, 960), (300, 300), (1920, 800)])
def test_the_cursor_moves_equally_far_across_and_down(tmp_path: Path, size: tuple[int, int]) -> None:
    session, _ = opened(tmp_path, np.zeros((4, 4, 3), np.uint8))
    width, height = size
    picture = Loaded(tmp_path / "quay.png", None, width=width, height=height)
    start = session.hand.place
    assert picking.move(session, picture, +1, 0)
    across = (session.hand.place[0] - start[0]) * width
    assert session.hand.place[1] == start[1]
    session.hold(place=start)
    assert picking.move(session, picture, 0, -1)
    assert session.hand.place[0] == start[0]
    assert (start[1] - session.hand.place[1]) * height == pytest.approx(across)
    assert across == pytest.approx(width / 96)
    session.step(+1)
    session.hold(place=start)
    picking.move(session, picture, -1, 0)
    assert (start[0] - session.hand.place[0]) * width == pytest.approx(2 * across)


def test_the_cursor_stays_on_the_picture(tmp_path: Path) -> None:
    session, picture = opened(tmp_path, np.zeros((9, 16, 3), np.uint8))
    for across, down, corner in ((1, 1, (1.0, 1.0)), (-1, -1, (0.0, 0.0)), (1, -1, (1.0, 0.0)), (-1, 1, (0.0, 1.0))):
        moves = [picking.move(session, picture, across, down) for _ in range(120)]
        assert session.hand.place == corner
        assert moves[0]
        assert not moves[-1]
    assert session.slot.history.depth == 0


def test_the_patch_has_a_smallest_and_a_largest_size(tmp_path: Path) -> None:
    session, _ = opened(tmp_path, np.zeros((4, 4, 3), np.uint8))
    session.hold(patch=0)
    assert [picking.resize(session, +1) for _ in PATCHES] == [True] * (len(PATCHES) - 1) + [False]
    assert [picking.resize(session, -1) for _ in PATCHES] == [True] * (len(PATCHES) - 1) + [False]
    assert all(after == 2 * before for before, after in pairwise(PATCHES))
