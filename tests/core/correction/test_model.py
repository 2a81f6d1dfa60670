"""The model: limits are told with their key path, nudges do what DESIGN says, undo comes back."""

import math
import time

import msgspec
import pytest

from poise.correction import CONTROLS, Balance, Correction, History, Levels, Light, Zone, checked, nudge
from poise.errors import ValueFault


@pytest.mark.parametrize(
    ("json", "where"),
    [
        (b'{"light": {"exposure": 9}}', "$.light.exposure"),
        (b'{"balance": {"slope": [1, 1]}}', "$.balance.slope"),
        (b'{"balance": {"power": [1, 0, 1]}}', "$.balance.power[1]"),
        (b'{"levels": {"black": 0.5, "white": 0.5}}', "$.levels"),
        (b'{"curves": {"red": [[0, 0], [0, 1]]}}', "$.curves"),
        (b'{"curves": {"red": [[0, 1], [1, 0]]}}', "$.curves"),
        (b'{"saturation": -0.1}', "$.saturation"),
        (b'{"mattes": [{"name": ""}]}', "$.mattes[0].name"),
    ],
)
def test_bad_values_name_their_place(json: bytes, where: str) -> None:
    with pytest.raises(msgspec.ValidationError) as fault:
        msgspec.json.decode(json, type=Correction)
    assert f"`{where}`" in str(fault.value)


def test_nan_is_refused() -> None:
    with pytest.raises((ValueFault, ValueError)):
        checked(Light(exposure=math.nan))
    with pytest.raises((ValueFault, ValueError)):
        Levels(black=math.nan)


def test_every_control_is_a_field_with_its_neutral_value() -> None:
    built = msgspec.to_builtins(Correction())
    for control in CONTROLS:
        value = built
        for key in control.path.split("."):
            value = value[key]
        for one in value if isinstance(value, list | tuple) else [value]:
            assert one == control.neutral
        assert control.low <= control.neutral <= control.high


def test_nudges_hold_what_the_zone_holds() -> None:
    start = Balance((1.1, 1.0, 0.9), (0.02, 0.0, -0.01))
    shadows = nudge(start, Zone.SHADOWS, (0, 1, 2), 4)
    highlights = nudge(start, Zone.HIGHLIGHTS, (0, 1, 2), 4)
    for i in range(3):
        white = (1 - start.offset[i]) / start.slope[i]
        assert shadows.slope[i] * white + shadows.offset[i] == pytest.approx(1, abs=1e-9)
        black = -start.offset[i] / start.slope[i]
        assert highlights.slope[i] * black + highlights.offset[i] == pytest.approx(0, abs=1e-9)
    assert nudge(start, Zone.MIDTONES, (1,), 1).power == pytest.approx((1, 1 / 1.01, 1))
    assert nudge(start, Zone.WHOLE, (2,), -2).offset == pytest.approx((0.02, 0, -0.02))


def test_nudges_stop_at_the_limits() -> None:
    far = nudge(Balance(), Zone.HIGHLIGHTS, (0,), 10_000)
    assert far.slope[0] == 16
    assert checked(far) == far


def test_undo_and_redo_without_limit() -> None:
    history = History(Correction())
    for i in range(500):
        history = history.do(Correction(saturation=1 + i / 1000))
    for _ in range(600):
        history = history.undo()
    assert history.present == Correction()
    for _ in range(600):
        history = history.redo()
    assert history.present.saturation == pytest.approx(1.499)
    assert history.undo().do(Correction()).redo().present == Correction()


def test_history_counts_its_steps_and_keeps_the_line_it_came_from() -> None:
    start = History("new")
    held = start.do("balanced").do("held")
    back = held.undo()
    assert (held.depth, held.ahead) == (2, 0)
    assert (back.present, back.depth, back.ahead) == ("balanced", 1, 1)
    assert back.do("skipped").redo().present == "skipped"
    assert back.do("balanced") is back
    assert (start.undo() is start, held.redo() is held) == (True, True)
    assert (start.depth, held.present) == (0, "held")


def test_a_step_costs_the_same_however_many_came_before() -> None:
    begun = time.process_time()
    history = History(0)
    for i in range(1, 5001):
        history = history.do(i)
    for _ in range(5000):
        history = history.undo()
    assert time.process_time() - begun < 0.5
    assert (history.present, history.depth, history.ahead) == (0, 0, 5000)
