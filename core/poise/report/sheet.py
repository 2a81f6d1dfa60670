"""Renders rows into one HTML file that needs neither a server nor a network."""

import base64
import hashlib
import math
import secrets
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from poise import __version__
from poise.errors import one_line
from poise.report.card import Card, alternative
from poise.report.plot import CHANNELS, WIDTH, plotted
from poise.report.record import embedded
from poise.report.words import number
from poise.scopes.levels import HIGH, LOW
from poise.scopes.reel import THRESHOLD
from poise.sidecar.decision import NOT_DELIVERED

if TYPE_CHECKING:
    from jinja2 import Environment

STATES = ("new", "balanced", "held", "skipped", "unknown")
SORTS = (
    ("place", "reel order"),
    ("name", "name"),
    ("black", "black"),
    ("middle", "middle"),
    ("white", "white"),
    ("spread", "spread"),
    ("cast", "cast"),
    ("chroma", "chroma"),
    ("faults", "faults"),
)
"""Sort orders: the name of a value, and its label."""
NOTHING = "\u2013"


@dataclass(frozen=True)
class About:
    """The heading of a sheet.

    Attributes:
        folder: the folder that was reported.
        at: the time, as text.
    """

    title: str
    folder: str
    at: str


def render(cards: Sequence[Card], about: About, record: dict[str, Any], threshold: float = THRESHOLD) -> list[bytes]:
    """Render the file in pieces; it states its own size.

    Args:
        record: from `poise.report.record.record`, to embed.
        threshold: the score over which a shot is an outlier of the reel.

    Example:
        path.write_bytes(b"".join(render(cards, About("day", "day", "today"), record)))
    """
    environment = _environment()
    style, script = (environment.get_template(name).render(low=LOW, high=HIGH) for name in ("sheet.css", "sheet.js"))
    mark = secrets.token_hex(
        8
    )  # placeholder for the size until it is known; random, so that no text of the user can equal it
    pieces = environment.get_template("sheet.html").generate(
        about=about,
        cards=cards,
        states=[(state, count) for state, count in _states(cards)],
        faulty=sum(bool(card.faults or card.trouble) for card in cards),
        levels=list(_levels(cards)),
        strips=plotted(
            [card.before.readings if card.before else None for card in cards],
            [card.shown.readings if card.shown else None for card in cards],
            [card.state not in NOT_DELIVERED for card in cards],
            threshold,
        ),
        record=embedded(record),
        size=mark,
        version=__version__,
        style=style,
        script=script,
        policy=_policy(style, script),
        sorts=SORTS,
        width=WIDTH,
        channels=CHANNELS,
    )
    coded = [piece.encode("utf-8") for piece in pieces]
    rest = sum(map(len, coded)) - len(mark)
    stated = in_bytes(rest + len(in_bytes(rest)))
    found = next(place for place, piece in enumerate(coded) if mark.encode() in piece)
    coded[found] = coded[found].replace(mark.encode(), stated.encode())
    return coded


def in_bytes(size: int) -> str:
    """A size in bytes as text.

    Example:
        >>> in_bytes(41_532_000), in_bytes(812)
        ('41.5 MB', '0.8 kB')
    """
    return f"{size / 1e6:.1f} MB" if size >= 1e6 else f"{size / 1e3:.1f} kB"


def level(value: float, decimals: int = 1) -> str:
    """A level or share in per cent as text; without decimals if it is 1000 or more.

    Example:
        >>> level(2.345), level(float("nan")) == NOTHING
        ('2.3', True)
    """
    return number(value, decimals if abs(value) < 1000 else 0) if math.isfinite(value) else NOTHING


def _environment() -> "Environment":
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("poise.report"),
        autoescape=lambda name: name is not None and name.endswith((".html", ".svg")),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"level": level, "one_line": one_line}
    environment.globals["alternative"] = alternative
    return environment


def _policy(style: str, script: str) -> str:
    """The content security policy: only embedded pictures, this style and this script; nothing from elsewhere."""
    own = [f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in (style, script)]
    return (
        f"default-src 'none'; img-src data:; style-src {own[0]}; script-src {own[1]}; "
        "base-uri 'none'; form-action 'none'"
    )


def _states(cards: Sequence[Card]) -> Iterator[tuple[str, int]]:
    counts = Counter(card.state for card in cards if card.state)
    return ((state, counts[state]) for state in STATES if counts[state])


def _levels(cards: Sequence[Card]) -> Iterator[tuple[str, list[str]]]:
    """The range of the reel's luma before and after: lowest to highest white, middle and black."""
    known = [(card.before.readings, card.shown.readings) for card in cards if card.before and card.shown]
    for name, part in (("white", "white"), ("middle", "median"), ("black", "black")):
        ends = []
        for side in (0, 1):
            values = [getattr(pair[side].luma, part) for pair in known]
            values = [value for value in values if math.isfinite(value)]
            ends.append(f"{level(min(values))} to {level(max(values))}" if values else NOTHING)
        yield name, ends
