"""What is listed and in what order: the rules by themselves."""

import math
import random
from pathlib import Path

import numpy as np
import pytest

from poise.correction import History
from poise.errors import SidecarError
from poise.frames import Shot, scan
from poise.scopes import measure
from poise.sidecar.decision import Decision
from poise_tui.session.filter import ONLY, Figures, NameKeys, Wish, narrowed, ordered, rank
from poise_tui.session.shot_state import Slot


def slots() -> list[Slot]:
    found = []
    states = {"Quay_1": "new", "quay_2": "balanced", "ferry": "held", "fog": "skipped", "pier": "new"}
    for name, state in states.items():
        shot = Shot(name, Path("day"), (Path("day") / name,), False)
        found.append(Slot(shot, history=History(Decision(state=state))))  # type: ignore[arg-type]
    found[3].fault = SidecarError(Path("fog"), "not JSON")
    found[4].broken = True
    return found


@pytest.mark.parametrize(
    ("wish", "wanted"),
    [
        (Wish(), (4, 3, 2, 1, 0)),
        (Wish("unfinished"), (4, 0)),
        (Wish("balanced"), (1,)),
        (Wish("held"), (2,)),
        (Wish("skipped"), (3,)),
        (Wish("marked"), (4, 1)),
        (Wish("faults"), (4, 3)),
        (Wish(text="QUAY"), (1, 0)),
        (Wish("balanced", text="quay"), (1,)),
        (Wish("held", text="quay"), ()),
    ],
)
def test_a_filter_takes_what_it_says_in_the_order_that_is_there(wish: Wish, wanted: tuple[int, ...]) -> None:
    assert narrowed(wish, (4, 3, 2, 1, 0), slots(), {1, 4}) == wanted
    assert wish.narrow == (len(wanted) < 5)


def test_every_filter_but_all_has_its_word() -> None:
    assert [Wish(only).words for only in ONLY] == [(), *((only,) for only in ONLY[1:])]
    assert Wish("held", "cast", "quay").words == ("held", "'quay'", "by cast")


def test_orders_are_by_rank_then_name_and_what_is_unknown_is_last() -> None:
    assert ordered((3, 1, 0, 2), {0: 5.0, 1: 5.0, 2: -1.0}) == (2, 1, 0, 3)
    figures = Figures(spread=12.0, cast=3.0, level=40.0)
    assert [rank(order, figures) for order in ("name", "spread", "cast", "level")] == [None, -12, -3, 40]
    assert rank("cast", Figures(12, math.nan, 40)) is None


def test_figures_are_the_readings_of_the_picture() -> None:
    """A flat card: its channels are 20, 30 and 60 % (51, 76.5 and 153 of 255), so they stand 40 % apart."""
    card = np.broadcast_to(np.float32([0.2, 0.3, 0.6]), (8, 8, 3))
    found = Figures.of(measure(np.ascontiguousarray(card)))
    assert found.spread == pytest.approx(40, abs=1e-4)
    # luma of ITU-R BT.709
    assert found.level == pytest.approx(100 * (0.2126 * 0.2 + 0.7152 * 0.3 + 0.0722 * 0.6), abs=1e-4)


def test_the_order_by_name_is_the_scan_s_whatever_order_they_came_in(tmp_path: Path) -> None:
    names = ("quay_10.png", "quay_9.png", "Ferry.png", "b/x.png", "b/a/y.png", "a10/z.png", "a9/z.png", "f.0101.png",
             "f.0102.png", "f_2.png")  # fmt: skip
    for root in ("night", "day"):
        for name in names:
            (tmp_path / root / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / root / name).touch()
    shots = scan([tmp_path / "night", tmp_path / "day"]).shots
    mixed = list(shots[1:])  # the roots' order is that of their first shots
    random.Random(5).shuffle(mixed)
    names = NameKeys()
    keys = [(names.key(shot), shot) for shot in (shots[0], *mixed)]
    assert [shot for _, shot in sorted(keys, key=lambda pair: pair[0])] == list(shots)
