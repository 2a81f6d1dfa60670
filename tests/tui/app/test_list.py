"""The list by keys: narrowed, ordered, gone about in, and what the sidecars hold; at 80 by 24 in plain ASCII."""

from pathlib import Path

import pytest
from PIL import Image
from sitting import turns

from poise.sidecar import load
from poise_tui.workers import coordinator

NAMES = ("ferry.png", "lighthouse.png", "market.png", "pier.png", "quay.png")
TINTS = ((100, 100, 100), (90, 100, 150), (90, 100, 110), (160, 160, 200), (60, 60, 62))
"""The channels stand 0, 60, 20, 40 and 2 codes apart; the dark one is the last."""


@pytest.fixture
def reel(tmp_path: Path) -> Path:
    for name, tint in zip(NAMES, TINTS, strict=True):
        Image.new("RGB", (64, 36), tint).save(tmp_path / name)
    return tmp_path


def states(folder: Path) -> dict[str, str]:
    """The state by shot, of those that have a sidecar."""
    return {name: load(path).state for name in NAMES if (path := folder / f"{name}.poise.json").exists()}


def test_a_filter_keeps_the_keys_among_what_is_listed(reel: Path) -> None:
    turns(
        reel,
        (["X", "end", "X", "up", "X", "home"], "3 marked"),
        ([*"IIIII"], "marked: 3 of 5 shots listed"),
        (["o"], "1/3 of 5, marked"),
        (["down"], "2/3 of 5, marked"),
        (["enter"], "3/3 of 5, marked"),
        (["enter"], "wrapped around to the first unfinished shot"),
        (["enter"], "no more shots in the list"),
        (["escape"], "all 5 shots listed, by name"),
        (["down", "S"], "shots 3/5"),
    )
    assert states(reel) == {name: "balanced" for name in NAMES if name[0] in "fpq"} | {"lighthouse.png": "skipped"}


def test_a_shot_that_is_settled_leaves_the_list_when_it_is_left(reel: Path) -> None:
    turns(
        reel,
        (["I"], "unfinished: 5 of 5 shots listed"),
        (["enter"], "1/4 of 5, unfinished"),
        (["H", "enter"], "1/3 of 5, unfinished"),
        (["I", "I"], "held: 1 of 5 shots listed; market.png stays the current shot"),
        (["up", "o"], "1/1 of 5, held"),
        (["home"], "that is the first shot"),
    )
    assert states(reel) == {"ferry.png": "balanced", "lighthouse.png": "held"}
    assert load(reel / "lighthouse.png.poise.json").correction.saturation == 1.02


def test_typing_narrows_at_once_and_is_given_up_by_escape(reel: Path) -> None:
    turns(
        reel,
        (['"', "k", "e"], "-/1 of 5, 'ke'"),
        (["escape", "o"], "shots 1/5"),
        (['"', "r", "enter"], "'r': 3 of 5 shots listed"),
        (["end", "*", "enter"], "3 marked|1/3 of 5, 'r'"),
        (["escape", "S"], "shots 2/5"),
    )
    assert states(reel) == {"ferry.png": "skipped", "pier.png": "balanced"}


def test_orders_go_by_what_was_measured(reel: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every shot is read while keys rest; then that with the widest spread is first, and the darkest first by level."""
    monkeypatch.setattr(coordinator, "REST", 0.05)
    monkeypatch.setattr(coordinator, "EXACT", 0.05)
    turns(
        reel,
        (["O"], "5/5, by spread"),
        (["home", "o"], "1/5, by spread"),
        (["O", "O"], "all 5 shots listed, by level"),
        (["home", "o", "o"], "1/5, by level"),
        (["O", "O"], "all 5 shots listed, by name"),
    )
    saturations = {name: load(reel / f"{name}.poise.json").correction.saturation for name in states(reel)}
    assert saturations == {"lighthouse.png": pytest.approx(1.02), "quay.png": 1.04}
