"""Sets of limits: those that come along, and one's own over them."""

from pathlib import Path

import pytest

from poise.delivery.limits import SETS, UNITS, load
from poise.errors import UsageError


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "harbour.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_shipped_limit_has_value_unit_and_source() -> None:
    for name in SETS:
        for key, limit in load(name).of.items():
            assert limit.unit == UNITS[key]
            assert limit.source, (name, key)


def test_ebu_r_103_is_as_published() -> None:
    """EBU R 103: -5 % .. 105 % of narrow range, and 1 % of the picture may lie outside."""
    found = load("ebu-r103")
    values = [limit.value for name in ("lowest", "highest", "outside") if (limit := found[name])]
    assert (values, found.range) == ([-5, 105, 1], "narrow")


def test_ones_own_file_changes_a_part(tmp_path: Path) -> None:
    text = 'base = "ebu-r103"\noutside = 0.5\napart = false\n[black-over]\nvalue = 3\nsource = "the harbour board"\n'
    found, base = load(written(tmp_path, text + "[drift]\ncaution = false\n")), load("ebu-r103")
    assert (found["outside"].value, found["outside"].source) == (0.5, "harbour.toml")
    assert (found["black-over"].value, found["black-over"].source) == (3, "the harbour board")
    assert (found["drift"].value, found["drift"].source) == (base["drift"].value, base["drift"].source)
    assert (base["drift"].caution, found["drift"].caution, found["apart"]) == (True, False, None)
    assert (found.name, found.range, found["clipped"]) == ("harbour", "narrow", base["clipped"])


def test_without_a_base_it_builds_on_the_baseline(tmp_path: Path) -> None:
    assert dict(load(written(tmp_path, "")).of) == dict(load("baseline").of)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("outside = ", "not valid TOML"),
        ("outsied = 1", "outsied: there is no such limit; there are lowest, "),
        ('outside = "1 %"', "outside: '1 %' is not a valid limit; use a number in %"),
        ("outside = true", "outside: True is not a valid limit"),
        ("outside = nan", "outside: nan is not a valid limit"),
        ("outside = inf", "outside: inf is not a valid limit"),
        (f"outside = 1{'0' * 400}", "outside: 1000000"),
        ("outside = -1", "outside: -1 is below 0"),
        ("[outside]\nvalu = 1", "outside.valu: a limit has value, unit, source and caution"),
        ('[outside]\nvalue = 1\nunit = "codes"', "outside: its unit is %, not 'codes'"),
        ("[outside]\nvalue = 1\nsource = 3", "outside: source must be a string"),
        ("[spread-middle]\ncaution = true", "spread-middle: None is not a valid limit"),
        ("lowest = 120", "lowest: 120 is not below highest"),
        ('base = "../ebu-r103"', "base: there is no set '../ebu-r103'"),
        ("base = 1", "base: there is no set 1"),
        ('range = "legal"', "range: 'legal' is neither"),
        ("a" * 70_000, "larger than 64 KB"),
        ("x = " + "[" * 5000, "not valid TOML"),
        ("\0", "not valid TOML"),
    ],
)
def test_what_is_no_limit_is_one_line(tmp_path: Path, text: str, told: str) -> None:
    path = written(tmp_path, text)
    with pytest.raises(UsageError) as fault:
        load(path)
    assert str(fault.value).startswith(f"{path}: {told}")
    assert "\n" not in str(fault.value)


def test_what_is_no_file_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"legal: no such set of limits and no such file; use baseline, ebu-r103"):
        load("legal")
    with pytest.raises(UsageError, match="can't be read"):
        load(tmp_path)
