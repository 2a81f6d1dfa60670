"""Delivery faults by keys: a mark in the list, words under the readings, all in full, and gone when they are mended."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sitting import READ, turns

from poise.sidecar import load
from poise_tui.workers import coordinator, delivery


@pytest.fixture
def reel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """One that has no fault, one whose black is too high, one that is flat; keys rest at once."""
    monkeypatch.setattr(coordinator, "REST", 0.05)
    monkeypatch.setattr(coordinator, "EXACT", 0.05)
    monkeypatch.setattr(delivery, "EVERY", 0.0)
    for name, low, high in (("ferry.png", 4, 250), ("market.png", 14, 250), ("quay.png", 70, 180)):
        grey = np.linspace(low, high, 64 * 36).round().astype(np.uint8).reshape(36, 64)
        Image.fromarray(np.stack([grey] * 3, axis=2)).save(tmp_path / name)
    return tmp_path


def test_faults_are_seen_and_mended_in_a_poor_terminal(reel: Path) -> None:
    """Level in the shadows, three steps down: black goes under 5 %, the mark goes, and the sidecar has the offset."""
    turns(
        reel,
        ([], "  market.png      !|  quay.png        !"),
        ([*"IIIIII"], "faults: 2 of 3 shots listed"),
        (["down"], f"! black 5.9 > 5 %|{READ}"),
        ([":", *"faults", "enter"], "! black 5.9 > 5 %|from every pixel"),
        (["x"], "1/2 of 3, faults"),
        (["1", "v", "v", "v"], "-/1 of 3, faults"),
        ([":", *"faults", "enter"], "no faults so far"),
        (["x", "enter"], "! black 27.8 > 5|readings %  2 faults"),
    )
    offset = load(reel / "market.png.poise.json").correction.balance.offset
    assert offset == pytest.approx([-0.015] * 3, abs=1e-3)


def test_a_fault_is_accepted_by_name_and_shown_while_the_shot_is_held(reel: Path) -> None:
    turns(
        reel,
        (["down"], f"! black 5.9 > 5 %|{READ}"),
        (["enter"], "shots 3/3"),
        ([":", *"messages", "enter"], "market.png is balanced with black 5.9 > 5 %"),
        (["x", "up", "H", "enter", "up"], "h market.png|! black 5.9 > 5 %"),
        ([":", *"faults", "enter"], "the shot is held; this is what apply would deliver|! black 5.9 > 5 %"),
        (["x", *"IIIIII"], "faults: 1 of 3 shots listed"),
    )


def test_what_is_broken_or_not_delivered_is_told_instead(reel: Path) -> None:
    (reel / "anchor.png").write_bytes(b"")
    turns(
        reel,
        ([":", *"faults", "enter"], "! the file is empty; copy it again"),
        (["x", "end", "S", "end"], "shots 4/4"),
        ([":", *"faults", "enter"], "the shot is skipped, so it is not delivered"),
        (["x"], "shots 4/4"),
    )
    assert load(reel / "quay.png.poise.json").state == "skipped"


def test_the_worst_fault_and_the_next_are_one_key_away(reel: Path) -> None:
    """Black is 0.9 % over its limit on the market, and 22.8 % on the quay, whose white is 19.8 % under its own."""
    turns(
        reel,
        ([], "  market.png      !|  quay.png        !"),
        (["|"], "fault 1 of 2: black 27.8 > 5 %|shots 3/3"),
        (["}"], "fault 2 of 2: black 5.9 > 5 %|shots 2/3"),
        (["}"], "that is the least of the faults"),
        (["{"], "fault 1 of 2"),
        (["S", "|"], "fault 1 of 1"),
        (["S", "|"], "no listed shot has a fault"),
    )


def test_after_auto_on_a_group_the_unsure_and_those_left_are_listed(reel: Path) -> None:
    """Pictures of one grey ramp tell nothing of their light; one is left, since it was nudged by hand."""
    turns(
        reel,
        (["T"], " Tferry.png"),
        (["down", "v", "*", "G"], "GROUP 3"),
        (["down", "A"], "auto: 1 shot measured, 1 unchanged; |see :unsure"),
        ([":", *"unsure", "enter"], "market.png|its correction was made by hand"),
        (["x", *"OOOO"], "by certainty"),
    )
