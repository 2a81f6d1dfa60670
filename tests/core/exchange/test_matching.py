"""Which correction is for which shot; what can't be told apart goes nowhere."""

from pathlib import Path

from poise.exchange.cdl import Cdl, Entry
from poise.exchange.matching import Offer, matched, offered
from poise.frames.shots import Shot

ROOT = Path("day")
SHOTS = [Shot(Path(n).name, ROOT, (ROOT / n,), False) for n in ("a/quay.tif", "b/quay.tif", "b/ferry.tif", "mole.tif")]
REEL = Path("hand/day.ccc")
DIM, DARK = Cdl(saturation=0.5), Cdl(saturation=0)


def offer(name: str | None, cdl: Cdl = DIM, *media: str, file: Path = REEL) -> Offer:
    return Offer(file, Entry(name, cdl, media), name or "none")


def test_ids_and_media() -> None:
    offers = [offer("ferry"), offer("a/quay.tif"), offer("mole.tif", DIM, "b/quay.tif", "mole.tif"), offer("sail")]
    found = matched(offers, SHOTS)
    assert found.taken == {2: offers[0], 0: offers[1], 1: offers[2], 3: offers[2]}
    assert (found.unmatched, found.ambiguous, found.clashing) == ([offers[3]], [], {})


def test_an_id_of_two_shots_goes_to_none() -> None:
    offers = [offer("quay"), offer("ferry")]
    found = matched(offers, SHOTS)
    assert found.ambiguous == [(offers[0], [0, 1])]
    assert found.taken == {2: offers[1]}


def test_two_corrections_for_a_shot() -> None:
    same, apart = [offer("ferry"), offer("ferry.tif")], [offer("mole"), offer("mole.tif", DARK), offer("mole.tif")]
    found = matched([*same, *apart], SHOTS)
    assert found.taken == {2: same[0]}
    assert found.clashing == {3: (apart[0], apart[1])}


def test_the_name_of_a_file_that_holds_one() -> None:
    alone = [
        offer("scene 4", file=Path("ferry.cc")),
        offer(None, file=Path("mole.cc")),
        offer("b.quay", file=Path("x.cc")),
    ]
    assert matched(alone, SHOTS).taken == {2: alone[0], 3: alone[1], 1: alone[2]}
    two = [offer("scene 4", file=Path("ferry.ccc")), offer("scene 5", file=Path("ferry.ccc"))]
    assert matched(two, SHOTS).unmatched == two


def test_one_onto_one_is_taken_whatever_it_is_called() -> None:
    assert matched([offer("sail")], SHOTS[:1]).taken[0].entry.id == "sail"
    assert matched([offer("sail"), offer("boat")], SHOTS[:1]).taken == {}
    assert matched([offer("sail")], SHOTS[:2]).taken == {}


def test_what_has_no_id_is_called_by_its_place() -> None:
    entries = [Entry(None, DIM), Entry("quay", DIM), Entry(None, DIM, ("mole.tif",))]
    assert [one.name for one in offered(REEL, entries)] == ["correction 1", "quay", "mole.tif"]
    assert offered(Path("hand/mole.cc"), entries[:1])[0].name == "mole"
