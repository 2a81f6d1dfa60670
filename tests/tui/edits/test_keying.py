"""Keying by hand: what samples of photographs do to the current matte, and what can be done to it besides."""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from skimage import data

from poise.correction import NEUTRAL, Correction, Inside, Interval, Matte
from poise.correction.model import HueInterval
from poise.errors import PoiseError
from poise.frames import Depth, Frame, read, scan
from poise_tui.edits import keying
from poise_tui.edits.keying import colours_at
from poise_tui.measure.loaded import Loaded, loaded
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture

ASTRONAUT = data.astronaut()
SUIT, LEG, SKY = (72.5 / 512, 320.5 / 512), (216.5 / 512, 416.5 / 512), (72.5 / 512, 8.5 / 512)
"""The orange suit, in the light and darker on the other side, and the grey behind, by eye; of 512 x 512."""


def polar(pixels: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Hue in degrees, chroma and luma of R'G'B' codes of 8 bits: the formulas of ITU-R BT.709-6, items 3.2 and 3.3."""
    r, g, b = np.moveaxis(pixels.reshape(-1, 3) / 255, -1, 0)
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    cb, cr = (b - y) / 1.8556, (r - y) / 1.5748
    return np.degrees(np.arctan2(cr, cb)) % 360, np.hypot(cb, cr), y


def square(pixels: np.ndarray, place: tuple[float, float], half: int) -> np.ndarray:
    row, column = int(place[1] * pixels.shape[0]), int(place[0] * pixels.shape[1])
    return pixels[row - half : row + half + 1, column - half : column + half + 1]


def opened(folder: Path, pixels: np.ndarray) -> tuple[Session, Loaded]:
    """A session at the matte mode over one picture, which is small enough to be its own proxy."""
    file = folder / "quay.png"
    Image.fromarray(pixels).save(file)
    frame = read(file)
    picture = loaded(file, None, frame, np.ascontiguousarray(frame.colour))
    session = Session(scan([folder]).shots)
    session.set_picture(0, Picture(picture.width, picture.height, False, picture.grey))
    session.work("matte")
    return session, picture


@pytest.fixture
def session(tmp_path: Path) -> Session:
    return opened(tmp_path, np.zeros((4, 8, 3), np.uint8))[0]


def mattes(session: Session) -> tuple[Matte, ...]:
    return session.slot.decision.correction.mattes


def names(session: Session) -> list[str]:
    return [matte.name for matte in mattes(session)]


def some(session: Session, *called: str) -> None:
    """Mattes by name, each with an exposure of its own inside."""
    session.correct(Correction(mattes=tuple(
        Matte(name, inside=Inside(exposure=0.5 + place)) for place, name in enumerate(called)
    )))  # fmt: skip


def test_the_first_sample_makes_a_matte_of_the_colour_under_the_cursor(tmp_path: Path) -> None:
    session, picture = opened(tmp_path, ASTRONAUT)
    session.hold(place=SUIT)
    assert keying.sample(session, picture, add=True) == "keyed as matte 1"
    (matte,) = mattes(session)
    assert (matte.name, session.hand.matte, matte.inside) == ("matte 1", 0, Inside())
    # a side of 0.02 of 512 rows: five pixels either way
    hue, chroma, luma = polar(square(ASTRONAUT, SUIT, 5))
    middle = (matte.hue.low + (matte.hue.high - matte.hue.low) % 360 / 2) % 360
    assert middle == pytest.approx(np.median(hue), abs=3)
    assert 90 < middle < 130  # orange lies between the bars of red, at 103 degrees, and yellow, at 175
    assert (matte.hue.high - matte.hue.low) % 360 < 30
    # all but a 200th of the pixels at either end, and the few on the rounded end itself
    for values, low, high in (
        (hue, matte.hue.low, matte.hue.high),
        (chroma, matte.chroma.low, matte.chroma.high),
        (luma, matte.luma.low, matte.luma.high),
    ):
        assert ((values >= low - 1e-6) & (values <= high + 1e-6)).mean() >= 0.99
    session.undo()
    assert session.slot.decision.correction == NEUTRAL


def test_a_sample_widens_the_ranges_to_hold_both_and_the_same_again_does_nothing(tmp_path: Path) -> None:
    session, picture = opened(tmp_path, ASTRONAUT)
    for place in (SUIT, LEG):
        session.hold(place=place)
        keying.sample(session, picture, add=True)
    (matte,) = mattes(session)
    for place in (SUIT, LEG):
        hue, chroma, luma = (np.median(values) for values in polar(square(ASTRONAUT, place, 5)))
        assert matte.hue.low <= hue <= matte.hue.high
        assert matte.chroma.low <= chroma <= matte.chroma.high
        assert matte.luma.low <= luma <= matte.luma.high
    assert keying.sample(session, picture, add=True) == "the matte already takes that colour"
    assert session.slot.history.depth == 2


def test_taking_out_narrows_the_one_range_that_is_named(tmp_path: Path) -> None:
    session, picture = opened(tmp_path, ASTRONAUT)
    wide = Matte("suit", hue=HueInterval(80, 150), chroma=Interval(0.1, 0.6), luma=Interval(0.05, 0.95))
    session.correct(Correction(mattes=(wide,)))
    session.hold(place=LEG)
    said = keying.sample(session, picture, add=False)
    (matte,) = mattes(session)
    changed = [part for part in ("hue", "chroma", "luma") if getattr(matte, part) != getattr(wide, part)]
    assert len(changed) == 1
    now = getattr(matte, changed[0])
    assert said == f"removed: {changed[0]} {now.low:.4g} to {now.high:.4g}"
    at = dict(zip(("hue", "chroma", "luma"), (np.median(v) for v in polar(square(ASTRONAUT, LEG, 5))), strict=True))
    range_ = getattr(matte, changed[0])
    assert not range_.low <= at[changed[0]] <= range_.high
    assert replace(matte, **{changed[0]: getattr(wide, changed[0])}) == wide
    assert keying.sample(session, picture, add=False) == "the matte already excludes that colour"


def test_nothing_is_taken_out_of_nothing(tmp_path: Path) -> None:
    session, picture = opened(tmp_path, ASTRONAUT)
    with pytest.raises(PoiseError, match="nothing is keyed yet"):
        keying.sample(session, picture, add=False)
    assert session.slot.decision.correction == NEUTRAL


def test_a_grey_picture_is_keyed_by_luma_alone(tmp_path: Path) -> None:
    grey = data.camera()
    session, picture = opened(tmp_path, grey)
    session.hold(place=(0.2, 0.1))
    assert keying.sample(session, picture, add=True).endswith("a greyscale picture is keyed by luma alone")
    (matte,) = mattes(session)
    assert (matte.hue, matte.chroma) == (HueInterval(), Interval())
    codes = square(grey, (0.2, 0.1), 5) / 255
    assert matte.luma.low <= np.quantile(codes, 0.01)
    assert matte.luma.high >= np.quantile(codes, 0.99)
    assert matte.luma.high - matte.luma.low < 0.2


def test_taking_out_of_a_grey_picture_narrows_luma(tmp_path: Path) -> None:
    ramp = np.tile(np.arange(256, dtype=np.uint8), (64, 1))
    session, picture = opened(tmp_path, ramp)
    session.correct(Correction(mattes=(Matte("fog", luma=Interval(0.2, 0.9, 0.05)),)))
    session.hold(place=(0.8, 0.5))
    assert keying.sample(session, picture, add=False).startswith("removed: luma 0.2 to 0.75; ")
    (matte,) = mattes(session)
    assert (matte.hue, matte.chroma) == (HueInterval(), Interval())
    # the sample's middle is the code 204 of 255, 0.8: outside now with all of the softness
    assert matte.luma == Interval(0.2, 0.75, 0.05)
    assert keying.sample(session, picture, add=False).startswith("the matte already excludes that colour")
    session.correct(Correction(mattes=(Matte("fog"),)))
    with pytest.raises(PoiseError, match="nothing is keyed yet"):
        keying.sample(session, picture, add=False)


def test_colours_are_those_that_the_matte_sees(tmp_path: Path) -> None:
    """After the mattes before it: halved in light by one that takes everything, in codes as IEC 61966-2-1 has them."""
    session, picture = opened(tmp_path, ASTRONAUT)
    halved = Correction(mattes=(Matte("all", inside=Inside(exposure=-1)),))
    seen = colours_at(picture, halved, session.slot.encoding, SUIT, 0.02)
    code = square(ASTRONAUT, SUIT, 5) / 255
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4) / 2
    code = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    assert seen.shape == (121, 3)
    assert seen[:, 0] == pytest.approx(polar(code * 255)[2], abs=0.004)
    # and the current matte is not among them
    session.correct(Correction(mattes=(*halved.mattes, Matte("new"))))
    session.hold(matte=0, place=SUIT)
    keying.sample(session, picture, add=True)
    luma = polar(square(ASTRONAUT, SUIT, 5))[2]
    assert mattes(session)[0].luma.low <= np.median(luma) <= mattes(session)[0].luma.high


def test_float_pixels_that_are_no_numbers_are_left_out(tmp_path: Path) -> None:
    session, _ = opened(tmp_path, ASTRONAUT)
    pixels = np.full((40, 40, 3), (0.6, 0.3, 0.1), np.float32)
    pixels[18:22, 18:22] = np.nan
    pixels[:10] = np.nan
    picture = loaded(tmp_path / "sea.exr", None, Frame(pixels, Depth.FLOAT, linear=True), pixels)
    session.set_picture(0, Picture(40, 40, linear=True, grey=False))
    session.hold(patch=3, place=(0.5, 0.1))
    with pytest.raises(PoiseError, match="no valid pixels"):
        keying.sample(session, picture, add=True)
    assert mattes(session) == ()
    session.hold(place=(0.6, 0.6))
    keying.sample(session, picture, add=True)
    # work code of linear delivery is sRGB
    code = 1.055 * np.array([0.6, 0.3, 0.1]) ** (1 / 2.4) - 0.055
    hue, chroma, luma = (float(values[0]) for values in polar(code * 255))
    (matte,) = mattes(session)
    assert matte.hue.low <= hue <= matte.hue.high
    assert matte.chroma.low <= chroma <= matte.chroma.high
    assert matte.luma.low <= luma <= matte.luma.high


def test_a_new_matte_comes_behind_the_others_and_the_ninth_is_refused(tmp_path: Path) -> None:
    session, picture = opened(tmp_path, ASTRONAUT)
    session.hold(place=SUIT)
    for _ in range(8):
        keying.new(session)
        keying.sample(session, picture, add=True)
    assert names(session) == [f"matte {number}" for number in range(1, 9)]
    before = session.hand
    with pytest.raises(PoiseError, match="at most 8 mattes"):
        keying.new(session)
    assert session.hand == before
    session.hold(matte=8)
    with pytest.raises(PoiseError, match="at most 8 mattes"):
        keying.sample(session, picture, add=True)
    assert len(mattes(session)) == 8


def test_order_is_changed_with_the_matte_in_hand(session: Session) -> None:
    some(session, "sail", "buoy", "lamp")
    session.hold(matte=2)
    assert "number 2" in keying.move(session, -1)
    assert (names(session), session.hand.matte) == (["sail", "lamp", "buoy"], 1)
    keying.move(session, -1)
    assert keying.move(session, -1) == "that is the first matte"
    assert (names(session), session.hand.matte) == (["lamp", "sail", "buoy"], 0)
    for _ in range(2):
        keying.move(session, +1)
    assert keying.move(session, +1) == "that is the last matte"
    assert names(session) == ["sail", "buoy", "lamp"]
    assert mattes(session)[2].inside.exposure == 2.5
    assert session.slot.history.depth == 5


def test_a_deleted_matte_comes_back_by_undo(session: Session) -> None:
    some(session, "sail", "buoy", "lamp")
    before = session.slot.decision
    session.hold(matte=2)
    assert "lamp" in keying.delete(session)
    assert (names(session), session.hand.matte) == (["sail", "buoy"], 1)
    session.undo()
    assert session.slot.decision == before
    for left in (["buoy", "lamp"], ["lamp"], []):
        session.hold(matte=0)
        keying.delete(session)
        assert (names(session), session.hand.matte) == (left, 0)
    with pytest.raises(PoiseError, match="no matte yet"):
        keying.delete(session)


@pytest.mark.parametrize(
    ("text", "called"),
    [
        ("  red sail ", "red sail"),
        ("buoy", "buoy"),
        ("sail", "sail 2"),
        ("lamp\x1b[31m\n", "lamp[31m"),
        ("\x07 lamp \x07", "lamp"),
        ("Süd-Leuchtturm", "Süd-Leuchtturm"),
        ("L" * 80, "L" * 64),
        ("L" * 63 + " quay", "L" * 63),
    ],
)
def test_a_name_is_what_was_typed_and_a_taken_one_gets_a_number(session: Session, text: str, called: str) -> None:
    some(session, "sail", "buoy")
    session.hold(matte=1)
    assert keying.name(session, text) == f"named {called}"
    assert names(session) == ["sail", called]


def test_without_a_name_or_a_table_nothing_is_named(session: Session) -> None:
    some(session, "sail")
    for text in ("", "  ", "\x07", "\x07 \x07"):
        with pytest.raises(PoiseError, match="needs a name"):
            keying.name(session, text)
    session.work("matte")
    with pytest.raises(PoiseError, match="go to matte mode first"):
        keying.name(session, "buoy")
    assert names(session) == ["sail"]


def test_on_invert_and_reset(session: Session) -> None:
    some(session, "sail", "buoy")
    session.hold(matte=1)
    assert keying.switch(session) == "buoy is off"
    assert keying.invert(session) == "buoy takes all but its ranges"
    assert [(matte.on, matte.invert) for matte in mattes(session)] == [(True, False), (False, True)]
    assert keying.switch(session) == "buoy is on"
    assert keying.invert(session) == "buoy takes its ranges"
    assert "undo" in keying.reset(session)
    assert mattes(session)[1] == Matte("buoy")
    assert keying.reset(session) == "already neutral"


@pytest.mark.parametrize("change", [keying.switch, keying.invert, keying.delete, keying.reset])
def test_without_a_matte_there_is_nothing_to_change(session: Session, change: object) -> None:
    with pytest.raises(PoiseError, match="no matte yet"):
        change(session)  # type: ignore[operator]
    with pytest.raises(PoiseError, match="no matte yet"):
        keying.move(session, 1)
    with pytest.raises(PoiseError, match="no matte yet"):
        keying.name(session, "sail")
