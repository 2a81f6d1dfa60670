"""Which correction is for which shot: by media, by id, by the name of the file; nothing is guessed."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from poise.exchange.cdl.model import Entry
from poise.exchange.names import Lookup
from poise.frames.shots import Shot


@dataclass(frozen=True)
class Offer:
    """A correction, the file that it stands in, and what it is called when it is told of."""

    file: Path
    entry: Entry
    name: str


@dataclass
class Matches:
    """What was found.

    Attributes:
        taken: the correction for each shot, by the shot's number.
        unmatched: corrections that are for none of the shots.
        unclear: corrections that fit several shots, with the numbers of those; they go to none.
        clashing: shots, by number, that two corrections are for which differ; they get none.
    """

    taken: dict[int, Offer] = field(default_factory=dict)
    unmatched: list[Offer] = field(default_factory=list)
    unclear: list[tuple[Offer, list[int]]] = field(default_factory=list)
    clashing: dict[int, tuple[Offer, Offer]] = field(default_factory=dict)


def offered(file: Path, entries: Sequence[Entry]) -> list[Offer]:
    """The corrections of a file; one without an id is called after its media, the file if it is alone, or its place."""
    alone = len(entries) == 1
    return [
        Offer(file, entry, entry.id or next(iter(entry.media), file.stem if alone else f"correction {number}"))
        for number, entry in enumerate(entries, 1)
    ]


def matched(offers: Sequence[Offer], shots: Sequence[Shot]) -> Matches:
    """The correction for each shot; a single one onto a single shot, whatever it is called.

    Example:
        matched(offered(file, read(file)), shots).taken
    """
    found = Matches()
    if len(offers) == len(shots) == 1:
        found.taken[0] = offers[0]
        return found
    lookup = Lookup(shots)
    count = Counter(offer.file for offer in offers)
    for offer in offers:
        places = _places(offer, lookup, count[offer.file] == 1)
        if not places:
            found.unmatched.append(offer)
        for numbers in places:
            if len(numbers) > 1:
                found.unclear.append((offer, numbers))
                continue
            present = found.taken.setdefault(numbers[0], offer)
            if present.entry.cdl != offer.entry.cdl:
                found.clashing.setdefault(numbers[0], (present, offer))
    for number in found.clashing:
        del found.taken[number]
    return found


def _places(offer: Offer, lookup: Lookup, by_file: bool) -> list[list[int]]:
    """What each MediaRef is for, else the id, else the name of the file; several shots where that can't be told."""
    if by_media := [numbers for media in offer.entry.media if (numbers := lookup.media(media))]:
        return by_media
    names = [*([offer.entry.id] if offer.entry.id else []), *([offer.file.stem] if by_file else [])]
    return [numbers for name in names if (numbers := lookup.find(name))][:1]
