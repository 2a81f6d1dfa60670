"""Matches corrections to shots: by media, by id, or by the name of the file; nothing is guessed."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from poise.exchange.cdl.model import Entry
from poise.exchange.names import Lookup
from poise.frames.shots import Shot


@dataclass(frozen=True)
class Offer:
    """A correction, its file, and its name in messages."""

    file: Path
    entry: Entry
    name: str


@dataclass
class Matches:
    """The result of matching; shots are named by their index.

    Attributes:
        taken: the correction for each shot that has one.
        unmatched: corrections for none of the shots.
        ambiguous: corrections that fit several shots, with those; none of the shots gets them.
        clashing: shots with two different corrections; they get neither.
    """

    taken: dict[int, Offer] = field(default_factory=dict)
    unmatched: list[Offer] = field(default_factory=list)
    ambiguous: list[tuple[Offer, list[int]]] = field(default_factory=list)
    clashing: dict[int, tuple[Offer, Offer]] = field(default_factory=dict)


def offered(file: Path, entries: Sequence[Entry]) -> list[Offer]:
    """The corrections of a file; one without an id is named after its media, its file if it is alone, or its number."""
    alone = len(entries) == 1
    return [
        Offer(file, entry, entry.id or next(iter(entry.media), file.stem if alone else f"correction {number}"))
        for number, entry in enumerate(entries, 1)
    ]


def matched(offers: Sequence[Offer], shots: Sequence[Shot]) -> Matches:
    """Match corrections to shots; a single correction matches a single shot, whatever its id.

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
                found.ambiguous.append((offer, numbers))
                continue
            present = found.taken.setdefault(numbers[0], offer)
            if present.entry.cdl != offer.entry.cdl:
                found.clashing.setdefault(numbers[0], (present, offer))
    for number in found.clashing:
        del found.taken[number]
    return found


def _places(offer: Offer, lookup: Lookup, by_file: bool) -> list[list[int]]:
    """The shots of each MediaRef, else of the id, else of the name of the file; several shots if it is ambiguous."""
    if by_media := [numbers for media in offer.entry.media if (numbers := lookup.media(media))]:
        return by_media
    names = [*([offer.entry.id] if offer.entry.id else []), *([offer.file.stem] if by_file else [])]
    return [numbers for name in names if (numbers := lookup.find(name))][:1]
