"""A chart rendered from measured reflectances comes back to its published values, however it lies and is lit."""

import numpy as np
import pytest
from charted import picture
from reflectances import grey, seen
from skimage import data

from poise.colour.adaptation import light_matrix
from poise.colour.transfer import encode
from poise.correction import CODED, LINEAR, Correction, Encoding, Levels, Light, Matte
from poise.engine import compile_engine
from poise.errors import PoiseError
from poise.frames.frame import Depth
from poise.solve import Charted, chart, find_chart
from poise.solve.illuminant import angle


def coded(light: np.ndarray) -> np.ndarray:
    return np.rint(np.clip(encode("sRGB", light), 0, 1) * 65535).astype(np.uint16)


def solved(light: np.ndarray, corners: object, correction: Correction | None = None) -> Charted:
    return chart(coded(light), corners, CODED, Depth.U16, correction)  # type: ignore[arg-type]


# Mean CIEDE2000 measured when this was written: 0.8, 0.8, 2.9, 3.7, 2.6, 3.6. What a white balance can't undo is left:
# plain gains leave 6.7 under A, Bradford 2.0 (CHECK: colour-science 0.4.7).
@pytest.mark.parametrize(
    ("under", "most"), [("D65", 1), ("D50", 1), ("A", 3.5), ("FL2", 4.5), ("FL11", 3.5), ("LED-B1", 4.5)]
)
def test_a_chart_under_any_light_comes_to_its_values(under: str, most: float) -> None:
    light, corners = picture(under, stops=-1)
    found = solved(light, corners)
    assert found.after < most < found.before
    assert found.correction.light.exposure == pytest.approx(1, abs=0.06)
    made = light_matrix(found.correction.light.warmth, found.correction.light.magenta)
    assert angle(made @ seen(grey(1)[None], under)[0]) < (1 if under not in ("A", "LED-B1") else 20)


def test_neutrals_are_neutral_in_what_the_engine_writes() -> None:
    light, corners = picture("FL2", stops=-0.5)
    found = solved(light, corners)
    out = compile_engine(found.correction, CODED, Depth.U16).apply(coded(light)) / 65535
    at = [(np.array(corners[3]) * (1 - t) + np.array(corners[2]) * t) for t in np.linspace(1 / 12, 11 / 12, 6)]
    # the last row is half a patch above the lower edge
    rows = [out[int(y * 360) - 16, int(x * 640)] for x, y in at]
    assert max(np.ptp(rgb) for rgb in rows) < 0.02
    assert rows[0].mean() == pytest.approx(0.958, abs=0.01)  # white 9.5 is 0.91 in light: sRGB (IEC 61966-2-1)


@pytest.mark.parametrize("turn", [0, 25, 90, 180, 200])
@pytest.mark.parametrize("slant", [0, 20])
def test_corners_may_lie_any_way_and_begin_anywhere(turn: float, slant: float) -> None:
    light, corners = picture("D50", stops=-0.5, turn=turn, slant=slant, size=0.9)
    straight = solved(light, corners)
    assert straight.after < 1.5
    assert straight.corners == corners
    for other in (corners[2:] + corners[:2], corners[::-1], corners[1:] + corners[:1]):
        found = solved(light, other)
        assert found.corners == corners
        assert found.correction == straight.correction


def test_corners_a_little_off_change_little() -> None:
    light, corners = picture("FL11", stops=-1)
    exact = solved(light, corners).correction.light
    for moved in (0.01, -0.01):
        near = solved(light, tuple((x + moved, y - moved) for x, y in corners)).correction.light
        assert near.warmth == pytest.approx(exact.warmth, abs=1)
        assert near.exposure == pytest.approx(exact.exposure, abs=0.03)


@pytest.mark.parametrize("corner", [(0, 0), (1, 0), (0.5, 0.5)])
def test_a_photograph_without_a_chart_is_refused(corner: tuple[float, float]) -> None:
    x, y = corner
    box = tuple((0.3 * x + 0.7 * a, 0.3 * y + 0.7 * b) for a, b in ((0, 0), (1, 0), (1, 1), (0, 1)))
    for photograph in (data.astronaut(), data.coffee()):
        with pytest.raises(PoiseError, match="no chart between these corners"):
            chart(photograph, box, CODED, Depth.U8)  # type: ignore[arg-type]


def test_what_can_not_be_a_chart_says_why() -> None:
    light, corners = picture("D65")
    a, b, c, d = corners
    for wrong, why in (
        ((a, c, b, d), "cross"),
        ((a, a, c, d), "cross or lie"),
        ((a, b, c, (0.5, 1.2)), "inside the picture"),
        ((a, b, c, (0.5, float("nan"))), "inside the picture"),
        (tuple((0.5 + (x - 0.5) / 12, 0.5 + (y - 0.5) / 12) for x, y in corners), "too small"),
        (tuple((x / 2, y / 2) for x, y in corners), "no chart between"),
    ):
        with pytest.raises(PoiseError, match=why):
            solved(light, wrong)
    with pytest.raises(PoiseError, match="clipped"):
        solved(light * 3, corners)
    with pytest.raises(PoiseError, match="grey picture"):
        chart(np.zeros((9, 9, 1), np.uint8), corners, CODED, Depth.U8)  # type: ignore[arg-type]
    with pytest.raises(PoiseError, match="room above white"):
        chart(coded(light), corners, Encoding("sRGB", "ITU-R BT.2100 PQ"), Depth.U16)  # type: ignore[arg-type]


def test_a_colour_that_is_clipped_is_left_out_and_named() -> None:
    light, corners = picture("D50", stops=-1)
    clean = solved(light, corners)
    (left, top), (right, _), _, (_, bottom) = corners
    x, y = (int((left + (right - left) / 12) * 640), int((top + (bottom - top) / 8) * 360))
    light[y - 12 : y + 12, x - 12 : x + 12] = 3  # a lamp is mirrored in the first patch
    found = solved(light, corners)
    assert [patch.name for patch in found.patches if patch.clipped] == ["dark skin"]
    assert "left out: dark skin" in found.note
    assert found.correction == clean.correction
    assert found.after == pytest.approx(clean.after, abs=0.1)
    assert found.worst.name != "dark skin"


def test_levels_give_way_and_the_rest_stays() -> None:
    light, corners = picture("D50", stops=-1)
    before = Correction(light=Light(2, 50, 9), levels=Levels(0.1, 0.8), saturation=1.2, mattes=(Matte("hull"),))
    found = solved(light, corners, before)
    plain = solved(light, corners)
    assert (found.correction.light, found.correction.levels) == (plain.correction.light, Levels())
    assert (found.correction.saturation, found.correction.mattes) == (1.2, before.mattes)
    assert found.patches == plain.patches


def test_a_chart_with_flare_off_is_the_chart() -> None:
    light, corners = picture("D50", stops=-1)
    flare = np.array([0.08, 0.1, 0.06])
    lifted = np.rint((flare + (1 - flare) * coded(light) / 65535) * 65535).astype(np.uint16)
    off = Correction(light=Light(flare=tuple(flare.tolist()), flare_in_code=1))
    found = chart(lifted, corners, CODED, Depth.U16, off)  # type: ignore[arg-type]
    plain = solved(light, corners)
    assert (found.correction.light.flare, found.correction.light.flare_in_code) == ((0.08, 0.1, 0.06), 1)
    assert found.correction.light.exposure == pytest.approx(plain.correction.light.exposure, abs=0.01)
    assert found.correction.light.warmth == pytest.approx(plain.correction.light.warmth, abs=0.1)
    assert found.after == pytest.approx(plain.after, abs=0.02)
    assert chart(lifted, corners, CODED, Depth.U16).after > found.after + 2  # type: ignore[arg-type]


def test_float_and_narrow_pictures_are_read_in_their_own_code() -> None:
    light, corners = picture("D50", stops=2)
    found = chart(light.astype(np.float32), corners, LINEAR, Depth.FLOAT)  # type: ignore[arg-type]
    assert found.correction.light.exposure == pytest.approx(-2, abs=0.05)
    assert found.after < 1
    light, corners = picture("D50", stops=-1)
    narrow = np.rint(64 + 876 * np.clip(encode("sRGB", light), 0, 1)).astype(np.uint16)
    assert chart(narrow, corners, Encoding(range="narrow"), Depth.U10).after < 1.2  # type: ignore[arg-type]


@pytest.mark.parametrize(("turn", "size"), [(4, 1.2), (97, 0.9), (172, 0.7)])
def test_a_chart_is_found_however_it_lies(turn: float, size: float) -> None:
    light, corners = picture("A", stops=-1.5, turn=turn, slant=4, size=size)
    found = find_chart(coded(light), CODED, Depth.U16)
    assert np.abs(np.array(found.corners) - corners).max() < 0.04
    assert found.correction.light.warmth == pytest.approx(solved(light, corners).correction.light.warmth, abs=1)


def test_where_there_is_none_none_is_found() -> None:
    with pytest.raises(PoiseError, match="no chart found"):
        find_chart(data.coffee()[::2, ::2], CODED, Depth.U8)
