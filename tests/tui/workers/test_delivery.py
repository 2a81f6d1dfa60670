"""Delivery faults in a session: the same as `poise check` finds, told to the list, and kept up with decisions."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from until import until

from poise.commands.checking.frames import examined
from poise.commands.shared.output import Report
from poise.commands.shared.shots import found as listed
from poise.correction import CODED, Correction, Levels
from poise.delivery.examine import examine
from poise.delivery.limits import Limit, Limits, load
from poise.frames import Depth, read, scan
from poise.scopes import measure
from poise_tui.edits import group
from poise_tui.measure.view import View
from poise_tui.session.session import Session
from poise_tui.workers import delivery
from poise_tui.workers.delivery import Delivery
from poise_tui.workers.loader import Loader
from poise_tui.workers.survey import Survey
from poise_tui.workers.viewer import Exact


def ramp(path: Path, low: int = 4, high: int = 250, size: tuple[int, int] = (40, 100)) -> Path:
    grey = np.linspace(low, high, size[0] * size[1]).round().astype(np.uint8).reshape(size)
    Image.fromarray(np.stack([grey] * 3, axis=2)).save(path)
    return path


class Office:
    """A session whose shots were all measured in spare time."""

    def __init__(self, folder: Path) -> None:
        self.session = Session(scan([folder]).shots)
        self.loader = Loader(lambda loaded: None)
        self.survey = Survey(self.session, self.loader, lambda index: self.delivery.measured(index))
        self.delivery = Delivery(self.session, self.survey)
        self.settle()

    def settle(self) -> None:
        def settled() -> bool:
            self.survey.tick(True, False)
            known = [self.survey.known(index) for index in range(len(self.session.slots))]
            wanted = [slot.decision for slot in self.session.slots]
            return [one and one.decision for one in known] == wanted

        until(settled)
        self.delivery.tick(True)

    def names(self) -> dict[str, set[str]]:
        found = {slot.shot.name: self.delivery.faults(index) for index, slot in enumerate(self.session.slots)}
        return {name: {fault.fault for fault in faults} for name, faults in found.items() if faults}


def replace_limit(limits: Limits, name: str, value: float) -> Limits:
    limit = limits[name]
    assert limit is not None
    return Limits(limits.name, limits.range, {**limits.of, name: Limit(value, limit.unit, limit.source)})


def view_of(picture: np.ndarray) -> View:
    """What a nudge is judged by: the readings of a sample."""
    return View(None, picture, measure(picture))


def exact_of(office: Office) -> Exact:
    """Every pixel of the current shot, as it is read while keys rest."""
    slot = office.session.slot
    frame = read(slot.file)
    return Exact(examine(frame, slot.decision.correction, slot.encoding, office.delivery.limits))


@pytest.fixture
def office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Office]:
    """Five even shots, one that is flat, one of another size that clips."""
    monkeypatch.setattr(delivery, "EVERY", 0.0)
    for number in range(1, 6):
        ramp(tmp_path / f"quay_{number}.png")
    ramp(tmp_path / "quay_6.png", 60, 200)
    ramp(tmp_path / "quay_7.png", size=(40, 80)).with_name("quay_7.png.poise.json").write_text(
        '{"poise": 1, "correction": {"levels": {"white": 0.9}}}'
    )
    made = Office(tmp_path)
    yield made
    made.survey.end()
    made.loader.end()


def test_they_are_those_that_check_finds(office: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "poise.commands.checking.frames.in_order",
        lambda work, jobs, *more, **options: ((job, work(job)) for job in jobs),
    )
    folder = office.session.slots[0].shot.root
    checked: dict[str, set[str]] = {}
    every = examined(listed([folder], Report()), load(), None, 1, 60)
    form = [fault for fault in every if fault.of_format]
    for fault in every:
        if fault.of_format:
            continue
        checked.setdefault(Path(fault.file).name, set()).add(fault.fault)
    assert office.names() == checked
    assert set(checked) == {"quay_6.png", "quay_7.png"}
    assert checked["quay_6.png"] == {"black-over", "white-under", "apart"}
    assert checked["quay_7.png"] == {"clipped", "apart"}
    assert [(Path(one.file).name, one.fault) for one in form] == [("quay_7.png", "size")]
    assert [(one.file, one.fault) for one in office.delivery.of_format()] == [("quay_7.png", "size")]
    assert [slot.beyond for slot in office.session.slots] == [False] * 5 + [True] * 2


def test_a_decision_takes_its_fault_away_and_tells_the_list(office: Office) -> None:
    session = office.session
    session.listing.ask(only="faults")
    assert session.listing.matching == (5, 6)
    session.correct(Correction(levels=Levels(black=0.22, white=0.79)), index=5)
    office.settle()
    assert "quay_6.png" not in office.names()
    assert session.listing.matching == (6,)
    session.state("skipped", index=6)
    office.settle()
    assert office.names() == {}


def test_the_shot_in_hand_is_judged_by_the_readings_on_screen(office: Office) -> None:
    office.session.go(0)
    bright = view_of(np.linspace(0.2, 1, 1000, dtype=np.float32).reshape(20, 50, 1))
    rough = office.delivery.current(bright, None, Depth.U8)
    assert [(fault.fault, round(fault.value)) for fault in rough] == [("black-over", 20)]
    assert office.session.slot.beyond
    assert office.delivery.current(bright, exact_of(office), Depth.U8) == ()
    assert office.delivery.current(bright, None, Depth.U8) == ()  # a sample says less than every pixel
    assert not office.session.slot.beyond


def test_another_set_of_limits(office: Office) -> None:
    office.delivery.limits = load("ebu-r103")
    group.encode(office.session, {"source": CODED.source, "delivery": CODED.delivery}, [0])
    office.settle()
    office.session.go(0)
    assert office.delivery.current(None, exact_of(office), Depth.U8) == ()
    assert [fault.fault for fault in office.delivery.of_format() if fault.file == "quay_1.png"] == ["range"]
    group.encode(office.session, {"range": "narrow"}, [0])
    narrow = np.full((10, 10, 1), 0.5, np.float32)
    narrow[0, :2] = 1.06
    (fault,) = office.delivery.current(view_of(narrow), None, Depth.U8)[:1]
    assert (fault.fault, fault.value, fault.source) == ("outside", 2, "EBU R 103")


def test_held_shots_are_counted_nowhere_and_show_theirs_while_they_are_worked_on(office: Office) -> None:
    """The reel's middle is that of the shots that are delivered, as `poise check` has it."""
    session, survey = office.session, office.survey
    assert survey.reel(before=False).counted == 7
    session.state("held", index=5)
    office.settle()
    assert survey.reel(before=False).counted == 6
    assert not session.slots[5].beyond
    assert "quay_6.png" not in office.names()
    session.go(5)
    assert {fault.fault for fault in office.delivery.current(None, exact_of(office), Depth.U8)} == {
        "black-over",
        "white-under",
    }
    assert not session.slots[5].beyond
    session.state("held", index=6)
    office.settle()
    assert office.delivery.of_format() == []


def test_an_outlier_is_one_by_the_limits_of_the_session(office: Office) -> None:
    office.delivery.limits = replace_limit(load(), "apart", 1e6)
    office.survey.threshold = office.delivery.limits.threshold
    office.session.state("balanced", index=0)
    office.settle()
    assert office.names()["quay_6.png"] == {"black-over", "white-under"}
    assert not office.survey.reel(before=False).outliers.any()
