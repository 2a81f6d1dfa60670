"""A card: one row of the sheet as text, figures and pictures, with a text alternative for each picture."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby

from poise.chain import order
from poise.correction.model import CODED
from poise.delivery.fault import Fault
from poise.delivery.fault import describe as describe_fault
from poise.errors import one_line
from poise.report.gather import Row
from poise.report.side import Side
from poise.report.words import Change, changes, number
from poise.scopes import Readings
from poise.scopes.words import describe

DASH = "\u2013"
TIMES = "\u00d7"


@dataclass(frozen=True)
class Card:
    """One row, ready to be laid out.

    Attributes:
        place: from 1, in the order of the reel.
        name: the name of the shot, on one line.
        folder: its folder; empty if all shots are in the same one.
        state: unknown if its sidecar can't be read; empty for a path that is not a shot.
        facts: frames, size, depth and encoding of the file, each a short text.
        before, shown: the shot without its correction and as it would be delivered; None if it can't be read.
        changed: whether the two differ.
        correction: the changes that it makes, stage by stage.
        remark: a remark about its state.
        drift: drift and flicker of a sequence, in sentences.
        trouble: why it can't be read or used.
        faults: for each the sentence, the value with limit and source, and whether it is a caution.
        values: values to sort by.
    """

    place: int
    name: str
    folder: str
    state: str
    facts: tuple[str, ...]
    before: Side | None
    shown: Side | None
    changed: bool
    correction: tuple[tuple[str, tuple[Change, ...]], ...]
    remark: str
    note: str
    drift: tuple[str, ...]
    trouble: tuple[str, ...]
    faults: tuple[tuple[str, str, bool], ...] = ()
    values: dict[str, str] = field(default_factory=dict)

    @property
    def sides(self) -> tuple[tuple[str, Side], ...]:
        """The sides to show, with titles."""
        if self.before is None or self.shown is None:
            return ()
        if not self.changed:
            return (("as it is", self.before),)
        return (("before", self.before), ("after", self.shown))


def cards(rows: Sequence[Row]) -> list[Card]:
    """The rows of a sheet as cards, in order."""
    folders = {row.subject.path.parent for row in rows}
    return [_card(place, row, len(folders) > 1) for place, row in enumerate(rows, 1)]


def alternative(name: str, title: str, what: str, readings: Readings) -> str:
    """The text alternative of a picture: the readings that it shows.

    Args:
        what: picture, waveform or parade.

    Example:
        alternative("quay_02.tif", "after", "waveform", readings)
    """
    luma = readings.luma
    if what == "picture":
        return f"{name}, {title}"
    if what == "waveform":
        levels = f"black {_level(luma.black)}, middle {_level(luma.median)}, white {_level(luma.white)} per cent"
        return f"Waveform of {name}, {title}: luma {levels}"
    channels = "; ".join(
        f"{channel} {_level(one.black)}, {_level(one.median)}, {_level(one.white)}"
        for channel, one in (("red", readings.red), ("green", readings.green), ("blue", readings.blue))
    )
    return f"Parade of {name}, {title}: black, middle and white in per cent of {channels}"


def _card(place: int, row: Row, foldered: bool) -> Card:
    subject, examined = row.subject, row.examined
    sidecar = subject.sidecar
    name = one_line(subject.shot.name if subject.shot else subject.path.name or subject.path)
    encoding = sidecar.encoding if sidecar else None
    decided = changes(subject.correction, encoding)
    stages = tuple((stage, tuple(parts)) for stage, parts in groupby(decided, key=lambda one: one.stage))
    return Card(
        place,
        name,
        one_line(subject.path.parent) if foldered and subject.path.parent.name else "",
        (subject.state or "unknown") if subject.shot else "",
        tuple(_facts(row)),
        examined.before if examined else None,
        examined.shown if examined else None,
        bool(examined and examined.after),
        stages,
        _remark(row),
        "\n".join(map(one_line, sidecar.note.splitlines())) if sidecar else "",
        describe(row.drift) if row.drift else (),
        row.trouble,
        tuple((fault.words, _measure(fault), fault.caution) for fault in row.faults),
        _values(place, name, row),
    )


def _facts(row: Row) -> list[str]:
    shot, examined = row.subject.shot, row.examined
    facts = []
    if shot and shot.numbers:
        first, last = shot.numbers[0], shot.numbers[-1]
        keyframes = row.subject.sidecar.keyframes if row.subject.sidecar else ()
        facts.append(f"frame {row.frame} of {first}{DASH}{last} ({len(shot.numbers)} frames)")
        if keyframes:
            facts.append(f"keyframes at {', '.join(str(one.frame) for one in keyframes)}")
        if row.subject.sidecar and row.subject.sidecar.steady:
            facts.append("steadied")
    if examined:
        depth = {"half": "half float", "float": "32 bit float"}.get(examined.depth, f"{examined.depth} bit")
        channels = {1: ["greyscale"], 2: ["greyscale, alpha"], 4: ["alpha"]}.get(examined.channels, [])
        coded = examined.encoding.source + (", narrow range" if examined.encoding.range == "narrow" else "")
        facts += [f"{examined.width} {TIMES} {examined.height}", depth, *channels, one_line(coded)]
    return facts


def _remark(row: Row) -> str:
    subject = row.subject
    if subject.shot is None:
        return ""
    if subject.state in ("held", "skipped"):
        return f"{subject.state}: apply passes it over"
    if subject.sidecar is None and not subject.trouble:
        return "nothing decided: it has no sidecar"
    sidecar = subject.sidecar
    if sidecar and not sidecar.keyframes and not sidecar.steady and order.is_neutral(subject.correction, CODED):
        return "nothing decided: the correction is neutral"
    return ""


def _values(place: int, name: str, row: Row) -> dict[str, str]:
    """The values to sort by, as plain numbers; unknown ones are left out."""
    values: dict[str, float] = {"place": place, "faults": len(row.trouble) + len(row.faults)}
    if row.examined:
        shown = row.examined.shown.readings
        spread = max(shown.spread.bottom, shown.spread.middle, shown.spread.top)
        values |= {"black": shown.luma.black, "middle": shown.luma.median, "white": shown.luma.white}
        values |= {"spread": spread, "cast": shown.cast.amount, "chroma": shown.saturation}
    return {"name": name} | {key: f"{value:.4f}" for key, value in values.items() if math.isfinite(value)}


def _measure(fault: Fault) -> str:
    """The value of a fault with its limit and source; empty if there is no value."""
    if fault.value is None:
        return ""
    return describe_fault(fault)


def _level(value: float) -> str:
    return number(value, 1) if math.isfinite(value) else "unknown"
