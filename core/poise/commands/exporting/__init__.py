"""The standards that `poise export` writes, one module each."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from pathlib import Path, PurePosixPath
from typing import Any, Protocol, TypeVar, cast

from poise.batch.pool import LIMIT
from poise.commands.shared.output import Report, problem
from poise.commands.shared.pooled import done
from poise.commands.shared.shots import Found
from poise.exchange import names
from poise.exchange.destination import Destination
from poise.frames.shots import Problem

T = TypeVar("T")

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
        workers: the largest number of processes.
        time_limit: seconds that a shot may take.
    """

    strict: bool = False
    form: str | None = None
    as_json: bool = False
    without_mattes: bool = False
    workers: int = 1
    time_limit: float = LIMIT


@dataclass(frozen=True)
class ExportJob:
    """One shot to express in a standard.

    Attributes:
        id: the name that it gets there.
        file: where its file goes, below the folder for the export.
    """

    one: Found
    id: str
    file: PurePosixPath
    options: ExportOptions

    @property
    def path(self) -> Path:
        return self.one.path


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


def expressed(
    express: Callable[[ExportJob], T], shots: Sequence[Found], ending: str, options: ExportOptions, report: Report
) -> Iterator[tuple[ExportJob, T]]:
    """Each shot as a standard expresses it, in order, made in processes; those that can't be are reported.

    Args:
        express: importable by name.
        ending: of the file of each shot, such as `.cc`.
    """
    listed = [one.shot for one in shots]
    named = zip(shots, names.ids(listed), names.files(listed, ending), strict=True)
    jobs = [ExportJob(one, name, file, options) for one, name, file in named]
    yield from done(partial(_expressed_or_not, express), jobs, options.workers, options.time_limit, report)


def _expressed_or_not(express: Callable[[ExportJob], T], job: ExportJob) -> T | Problem:
    try:
        return express(job)
    except Exception as fault:
        return problem(job.path, fault)


def target(name: str) -> Target:
    """The module that writes a standard.

    Example:
        target("cdl").export(shots, ExportOptions(), Destination(Path("handover")), report)
    """
    return cast(Target, import_module(f"{__name__}.{name}"))
