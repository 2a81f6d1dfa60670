"""What `poise export` can write, one file a standard."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Protocol, cast

from poise.commands.shared.output import Report
from poise.commands.shared.shots import Found
from poise.exchange.destination import Destination

TARGETS: Mapping[str, str] = {
    "cdl": "ASC CDL v1.2",
    "clf": "Common LUT Format, SMPTE ST 2136-1",
}
"""By name; the module of that name in this package writes it."""


@dataclass(frozen=True)
class Wanted:
    """What was asked for beyond the shots.

    Attributes:
        strict: refuse a shot that the standard can't hold, instead of coming near it.
        form: which files of the standard; None for all.
        as_json: nothing is printed as text.
        without_mattes: leave mattes out of what can't hold them, instead of refusing the shot.
    """

    strict: bool = False
    form: str | None = None
    as_json: bool = False
    without_mattes: bool = False


class Target(Protocol):
    """A module that writes one standard.

    Attributes:
        TAKES: the names of those options that mean something to it.
    """

    TAKES: frozenset[str]

    def export(self, shots: Sequence[Found], wanted: Wanted, into: Destination, report: Report) -> list[dict[str, Any]]:
        """Writes all shots, tells a line for each (unless as JSON), and returns an entry for each that was done.

        A shot that fails is told by `report.fault`, and the rest goes on.
        """
        ...


def target(name: str) -> Target:
    """The module that writes a standard.

    Example:
        target("cdl").export(shots, Wanted(), Destination(Path("handover")), report)
    """
    return cast(Target, import_module(f"{__name__}.{name}"))
