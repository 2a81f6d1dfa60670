"""A correction in words: every control in its own unit, nothing that is neutral, stages in the order of the chain."""

import re

import msgspec
import pytest

from poise.correction import CONTROLS, NEUTRAL, Balance, Correction, Encoding, Levels, Light, Matte, Tone
from poise.correction import controls as c
from poise.correction.model import Curves, Inside, Interval
from poise.report.words import changes, number

UNITS = {"stops": r"stops", "mired": r"mired", "CC": r"CC", "x": r"", "code": r"", "": r""}


def test_neutral_says_nothing() -> None:
    assert changes(NEUTRAL) == ()
    assert changes(NEUTRAL, Encoding()) == ()
    # a pivot alone changes nothing, where contrast is 1, nor does the share of a flare of 0
    assert changes(Correction(levels=Levels(pivot=0.3))) == ()
    assert changes(Correction(Light(flare_in_code=1))) == ()


ALONE = [one for one in CONTROLS if one not in (c.PIVOT, c.FLARE_IN_CODE)]
"""Those that change something by themselves."""


@pytest.mark.parametrize("control", ALONE, ids=lambda one: one.path)
def test_one_step_of_each_control_is_told_in_its_unit_and_can_be_read_back(control: c.Control) -> None:
    step = control.neutral * control.step if control.ratio else control.neutral + control.step
    parts = control.path.split(".")
    value: object = [step] * 3 if parts[0] == "balance" or control is c.FLARE else step
    for name in reversed(parts):
        value = {name: value}
    (told,) = changes(msgspec.convert(value, Correction))
    assert (told.stage, told.what) == (parts[0], control.name)
    figure = re.search(r"[+\u2212]?\d+\.?\d*", told.value)
    assert figure
    assert float(figure[0].replace("\u2212", "-")) == pytest.approx(step, abs=0.005 if control.step < 1 else 0.5)
    assert told.value.endswith(UNITS[control.unit])


def test_flare_is_told_a_channel_each_with_its_share() -> None:
    found = changes(Correction(Light(flare=(0.09, 0.121, -0.005), flare_in_code=1)))
    assert [(one.what, one.value) for one in found] == [
        ("flare", "R 0.090 G 0.121 B \u22120.005"),
        ("flare in code", "1.00"),
    ]


def test_stages_stand_in_the_order_of_the_chain() -> None:
    matte = Matte("hull", on=False, luma=Interval(0.2, 0.9, 0.05), blur=0.004, inside=Inside(turn=-12))
    found = changes(
        Correction(
            Light(0.25, -20, 5),
            Balance(slope=(1.02, 1, 0.98), offset=(-0.004, 0, 0)),
            Levels(0.03, 0.94, 1.1, 0.4),
            Tone(0.2, -0.1),
            Curves(master=((0, 0), (0.5, 0.6), (1, 1))),
            1.1,
            (matte,),
        ),
        Encoding(source="ACEScct", range="narrow"),
    )
    stages = ["encoding", "light", "balance", "levels", "tone", "curves", "saturation", "mattes"]
    assert list(dict.fromkeys(one.stage for one in found)) == stages
    values = {one.what: one.value for one in found}
    assert values["code"] == "ACEScct to sRGB"
    assert values["range"] == "narrow"
    assert values["slope"] == "R 1.020 G 1.000 B 0.980"
    assert values["offset"] == "R \u22120.004 G 0.000 B 0.000"
    assert values["pivot"] == "0.400"
    assert values["toe"] == "+0.20"
    # PCHIP through these points is at most 0.1007 above the diagonal, by scipy's interpolator on 16 bit codes
    assert values["master curve"] == "3 points, moves a value by 10.1 % at most"
    assert values["matte hull"] == (
        "switched off; luma 0.20 to 0.90, soft 0.05; blur 0.40 % of height; hue turn \u221212 degrees"
    )


def test_what_rounds_to_nothing_has_no_sign() -> None:
    assert number(-0.0004, 2) == "0.00"
    assert number(-0.0004, 2, signed=True) == "0.00"
    assert number(-1.25, 1) in ("\u22121.2", "\u22121.3")
