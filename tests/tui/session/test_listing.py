"""The list as it is narrowed and ordered: indexes never change, and the current shot is never lost."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image

from poise.correction import NEUTRAL
from poise.frames import Shot, scan
from poise.sidecar import ShotInfo, Sidecar, load, save
from poise.sidecar.decision import UNDECIDED
from poise_tui.edits import group
from poise_tui.session.filter import Figures
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState

NAMES = ("ferry.png", "lighthouse.png", "market.png", "pier.png", "quay.png")


@pytest.fixture
def session(tmp_path: Path) -> Session:
    for name in NAMES:
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return Session(scan([tmp_path]).shots)


def test_all_by_name_is_as_it_came(session: Session) -> None:
    listing = session.listing
    assert listing.all == listing.matching == listing.shown == (0, 1, 2, 3, 4)
    assert [listing.offset(by) for by in (-9, -1, 0, 1, 9)] == [0, 0, 0, 1, 4]
    session.go(2)
    assert (listing.place, listing.around(1, 2, 3, -1), listing.onward()) == (2, [3, 4, 1], [3, 4, 0, 1])


def test_the_shot_in_hand_is_shown_in_its_place_even_if_it_is_not_asked_for(session: Session) -> None:
    session.state("held", index=1)
    session.state("held", index=4)
    session.go(2)
    listing = session.listing
    listing.ask(only="held")
    assert (listing.matching, listing.shown, listing.place, listing.holds) == ((1, 4), (1, 2, 4), 1, False)
    assert (listing.offset(1), listing.offset(-1)) == (4, 1)
    session.go(4)
    assert (listing.shown, listing.place, listing.holds) == ((1, 4), 1, True)
    session.state("balanced")
    assert (listing.shown, listing.holds) == ((1, 4), False)
    session.go(0)
    assert listing.shown == (0, 1)


def test_going_on_is_among_what_is_listed(session: Session) -> None:
    session.marked = {1, 3, 4}
    session.listing.ask(only="marked")
    seen = []
    while (index := session.unfinished()) is not None:
        session.go(index)
        seen.append(index)
        session.state("balanced")
    assert seen == [1, 3, 4]
    session.listing.ask(only="all")
    assert session.unfinished() == 0


def test_where_held_shots_are_listed_the_next_is_the_next_of_them(session: Session) -> None:
    for index in (1, 3, 4):
        session.state("held", index=index)
    session.go(3)
    session.listing.ask(only="held")
    session.state("balanced")
    assert session.unfinished() == 4
    session.go(4)
    session.state("balanced")
    assert session.unfinished() == 1
    session.go(1)
    session.state("balanced")
    assert session.unfinished() is None


def test_find_looks_everywhere(session: Session) -> None:
    session.listing.ask(text="quay")
    assert session.found("market") == 2
    session.go(2)
    assert session.listing.shown == (2, 4)
    assert session.found("market") == 2


def test_marking_all_marks_what_is_listed_and_takes_all_off_the_second_time(session: Session) -> None:
    session.marked = {0}
    session.listing.ask(text="r")
    assert session.mark_all()
    assert session.marked == {0, 2, 3}
    assert not session.mark_all()
    assert session.marked == set()


def test_an_order_stays_while_shots_are_balanced_and_takes_in_what_is_measured_later(session: Session) -> None:
    listing = session.listing
    for index, spread in enumerate((5.0, 20.0, 10.0)):
        listing.measured(index, Figures(spread, 0, 0), UNDECIDED)
    listing.ask(order="spread")
    assert (listing.all, listing.unmeasured) == ((1, 2, 0, 3, 4), 2)
    listing.measured(1, Figures(0.5, 0, 0), UNDECIDED)
    assert listing.all == (1, 2, 0, 3, 4)
    listing.measured(4, Figures(15.0, 0, 0), UNDECIDED)
    assert (listing.all, listing.unmeasured) == ((1, 4, 2, 0, 3), 1)
    session.go(4)
    assert (listing.place, listing.is_before(1), listing.is_before(0)) == (1, True, False)
    listing.ask(order="spread")
    assert listing.all == (4, 2, 0, 1, 3)
    listing.ask(order="name")
    assert listing.all == (0, 1, 2, 3, 4)


def test_states_count_as_new_until_their_sidecars_are_read(session: Session) -> None:
    for index in (2, 3):
        shot = session.slots[index].shot
        save(shot.sidecar_path, Sidecar(shot=ShotInfo(shot.name, 8, 4), state="balanced"), None)
    session.listing.ask(only="unfinished")
    assert session.listing.matching == (0, 1, 2, 3, 4)
    for index in range(5):
        session.load(index)
    assert session.listing.matching == (0, 1, 4)
    session.slots[4].shot.sidecar_path.write_text("{")
    session.reread(4)
    session.set_picture(0, None)
    session.listing.ask(only="faults")
    assert session.listing.matching == (0, 4)


def test_shots_that_come_later_stand_in_their_place_by_name(session: Session, tmp_path: Path) -> None:
    root = session.slot.shot.root
    for name in ("net.png", "a.png"):
        session.slots.append(ShotState(Shot(name, root, (tmp_path / name,), False)))
    assert session.listing.all == (6, 0, 1, 2, 5, 3, 4)
    assert session.listing.place == 1


class Counted(list[ShotState]):
    """Slots that count how many of them were looked at."""

    looks = 0

    def __getitem__(self, place: object) -> ShotState:  # type: ignore[override]
        self.looks += 1
        return super().__getitem__(place)  # type: ignore[index, no-any-return]

    def __iter__(self) -> Iterator[ShotState]:
        self.looks += len(self)
        return super().__iter__()


def test_ten_thousand_are_not_looked_at_again_where_nothing_changed() -> None:
    """The desk looks at the list several times a key."""
    root = Path("day")
    session = Session([Shot(f"quay_{i}.png", root, (root / f"quay_{i}.png",), False) for i in range(10_000)])
    for slot in session.slots:
        slot.loaded = True
    session.slots = slots = Counted(session.slots)
    listing = session.listing
    listing.ask(text="7", only="unfinished")
    first = listing.shown
    assert len(first) == 3440  # 10,000 - 9 ** 4 numbers have a 7 in them, and 0 is current
    assert 0 < slots.looks <= 2 * 10_000  # once for the text, once for the state
    looks = slots.looks
    for _ in range(100):
        assert listing.shown[listing.place] == 0
        assert listing.shown is not first  # made from what was found, not looked up
    assert slots.looks == looks


def test_figures_of_an_earlier_decision_wait_and_give_no_place_in_an_order(session: Session) -> None:
    listing = session.listing
    for index, spread in enumerate((2.0, 9.0, 5.0, 4.0, 3.0)):
        listing.measured(index, Figures(spread, 0, 0), UNDECIDED)
    session.correct(replace(NEUTRAL, saturation=1.1), index=1)
    assert [listing.waits(index) for index in range(5)] == [False, True, False, False, False]
    listing.measured(1, Figures(9.0, 0, 0), UNDECIDED)  # it was measured before the decision, and comes too late
    assert listing.waits(1)
    listing.ask(order="spread")
    assert (listing.all, listing.unmeasured) == ((2, 3, 4, 0, 1), 1)
    listing.measured(1, Figures(1.0, 0, 0), session.slots[1].decision)
    assert (listing.all, listing.unmeasured, listing.waits(1)) == ((2, 3, 4, 0, 1), 0, False)
    session.state("held", index=2)
    assert not listing.waits(2)  # another state is the same picture
    listing.measured(2, Figures(5.5, 0, 0, 1, 90), session.slots[2].decision, fine=True)
    listing.measured(2, Figures(5.0, 0, 0, 2, 80), session.slots[2].decision)
    assert listing.figures(2) == Figures(5.5, 0, 0, 1, 90)


def test_the_unsure_are_listed_and_ordered_by_the_certainty_of_auto(session: Session) -> None:
    for index, certainty in ((0, 0.9), (2, 0.2), (3, 0.45)):
        session.correct(replace(NEUTRAL, saturation=1.1), by_hand=False, index=index, certainty=certainty)
    listing = session.listing
    listing.ask(order="certainty")
    assert (listing.all, listing.unmeasured) == ((2, 3, 0, 1, 4), 2)
    listing.ask(only="unsure")
    assert listing.matching == (2, 3)
    session.correct(replace(NEUTRAL, saturation=1.2), index=2)  # a nudge changes nothing about what auto knew
    assert session.slots[2].decision.certainty == 0.2
    session.go(3)
    group.reset(session)
    assert (session.slot.decision.certainty, listing.matching) == (None, (2,))
    session.undo()
    session.save_all()
    assert load(session.slot.shot.sidecar_path).certainty == 0.45
    assert Session([session.slot.shot]).slot.decision.unsure
