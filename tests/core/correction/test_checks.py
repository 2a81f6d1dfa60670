"""Faults are told with the key path that a person can look up in the file."""

import msgspec
import pytest

from poise.correction import Balance, Correction, Curves, Inside, Matte, checked
from poise.correction.checks import path_and_reason
from poise.errors import ValueFault


@pytest.mark.parametrize(
    ("json", "where", "reason"),
    [
        (b'{"saturation": 9}', "saturation", "<= 4"),
        (
            b'{"curves": {"red": [[0, 0], [0.5, 0.4], [0.5, 0.6]]}}',
            "curves.red[2]",
            "inputs must rise by at least 0.0001",
        ),
        (b'{"curves": {"master": [[0, 1], [1, 0]]}}', "curves.master[1]", "outputs must not fall"),
        (b'{"curves": {"blue": [[0, 0], [1, 1, 1]]}}', "curves.blue[1]", "length 2"),
        (b'{"levels": {"black": 0.5, "white": 0.5}}', "levels", "white must be at least 0.02 above black"),
        (b'{"mattes": [{"name": "buoy"}, {"name": "sail", "luma": {"soft": -1}}]}', "mattes[1].luma.soft", ">= 0"),
        (b"[]", "", "Expected `object`"),
    ],
)
def test_a_fault_in_json_has_a_place_and_a_reason(json: bytes, where: str, reason: str) -> None:
    with pytest.raises(msgspec.ValidationError) as fault:
        msgspec.json.decode(json, type=Correction)
    told = path_and_reason(fault.value)
    assert told[0] == where
    assert reason in told[1]


def test_a_value_is_checked_as_deep_as_it_goes() -> None:
    deep = Matte("buoy", inside=Inside(balance=Balance(power=(1.0, 0.0, 1.0))))
    for value, where in (
        (Correction(mattes=(Matte("sail"), deep)), "mattes[1].inside.balance.power[1]"),
        (Correction(mattes=(Matte("sail"),) * 9), "mattes"),
        (Correction(mattes=(Matte(""),)), "mattes[0].name"),
        (Curves(master=((0.0, 0.0), (1.0, 4.5))), "master[1][1]"),
        (Curves(master=((0.0, 0.0),)), "master"),
    ):
        with pytest.raises(ValueFault) as fault:
            checked(value)
        assert fault.value.where == where
    assert checked(Correction(mattes=(Matte("sail"),) * 8)).mattes[7].name == "sail"
