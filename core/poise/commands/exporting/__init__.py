"""The standards that `poise export` writes, one module each."""

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
"""Titles by name; the module of that name in this package writes the standard."""


@dataclass(frozen=True)
class ExportOptions:
    """The options of an export.

    Attributes:
        strict: refuse a shot that the standard can't represent exactly, instead of fitting it.
        form: which files of the standard to write; None for all.
        as_json: print no text.
        without_mattes: leave out mattes that the standard can't represent, instead of refusing the shot.
    """

    strict: bool = False
    form: str | None = None
    as_json: bool = False
    without_mattes: bool = False


class Target(Protocol):
    """A module that writes one standard.

    Attributes:
        TAKES: the names of the options that apply to it.
    """

    TAKES: frozenset[str]

    def export(
        self, shots: Sequence[Found], options: ExportOptions, into: Destination, report: Report
    ) -> list[dict[str, Any]]:
        """Write all shots, print a line for each (unless as JSON), and return an entry for each one written.

        A shot that fails is reported with `report.fault`; the others are still written.
        """
        ...


def target(name: str) -> Target:
    """The module that writes a standard.

    Example:
        target("cdl").export(shots, ExportOptions(), Destination(Path("handover")), report)
    """
    return cast(Target, import_module(f"{__name__}.{name}"))
