"""Steady values act as gains in light, by the sRGB formula of IEC 61966-2-1 as colour-science has it."""

import msgspec
import numpy as np
import pytest
from colour.models import eotf_inverse_sRGB, eotf_sRGB

from poise.correction import CODED, Correction, Light
from poise.correction.steady import Steady, steadied
from poise.engine import compile_engine, reference, rounded
from poise.errors import SidecarError
from poise.frames import Depth
from poise.sidecar import load

STEADY = Steady(101, (0.1, None, -0.2), (0.05, None, 0.0), (-0.03, None, 0.0))
CODES = np.linspace(0, 40000, 300).astype(np.uint16).reshape(10, 10, 3)


@pytest.mark.parametrize("depth", [Depth.U16, Depth.FLOAT])
def test_a_frame_is_multiplied_in_light(depth: Depth) -> None:
    correction = steadied(Correction(Light(exposure=0.5)), STEADY, 101)
    values = CODES / 65535
    wanted = eotf_inverse_sRGB(eotf_sRGB(values) * np.exp2([0.65, 0.6, 0.57]))
    pixels = CODES if depth is Depth.U16 else values.astype(np.float32)
    if depth is Depth.FLOAT:
        assert np.abs(reference(pixels, correction, CODED, depth) - wanted).max() < 1e-6
        return
    ours = compile_engine(correction, CODED, depth).apply(pixels)
    assert np.abs(ours.astype(int) - rounded(wanted, depth).astype(int)).max() <= 1


def test_a_frame_without_a_value_keeps_its_correction() -> None:
    correction = Correction(saturation=1.1)
    for frame in (None, 7, 102, 400):
        assert steadied(correction, STEADY, frame) is correction
    assert type(steadied(correction, STEADY, 103).light) is Light  # red and blue are left alone


def test_lists_of_different_lengths_are_refused_by_name(tmp_path) -> None:
    path = tmp_path / "ferry.####.png.poise.json"
    path.write_text('{"poise": 1, "steady": {"from": 101, "exposure": [0.1, 0.2], "red": [0.1]}}')
    with pytest.raises(SidecarError, match=r"steady\.red: it must have as many values as exposure"):
        load(path)
    assert msgspec.to_builtins(Steady(101, (0.5,))) == {"from": 101, "exposure": (0.5,), "red": (), "blue": ()}
