"""How `poise check` prints its result: each fault, then how many there are and what to do next."""

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import click

from poise.commands.checking import grouping
from poise.commands.shared.output import data, say
from poise.delivery.fault import Fault, describe, name_of
from poise.errors import one_line
from poise.invocation import program_name

NEXT = (
    (("missing", "stale", "damaged"), "{program} apply writes missing, stale and damaged outputs again"),
    (("unreadable", "sidecar", "gap"), "some files can't be read: copy them again or repair them, then check again"),
    (("changed", "extra", "path"), "some files differ from the record: restore them, or write a new record"),
)
"""What to do about some faults; `APP` is for all others. `{program}` is the program as the user called it."""
APP = "{program} FOLDER opens the shots: I lists those with faults, the readings show why"


class CheckResult(NamedTuple):
    """The number of shots or files that were checked, and their faults."""

    number: int
    faults: tuple[Fault, ...]


def print_results(checked: CheckResult, how: str, as_json: bool) -> None:
    """Print all faults and a summary.

    Args:
        how: what was checked and against what, in the plural, as "shots checked against baseline".

    Raises:
        click.exceptions.Exit: with code 1 if there are faults other than cautions.
    """
    faults = checked.faults
    if as_json:
        data([fault.to_json() for fault in faults])
    else:
        alone, shared = grouping.grouped(faults)
        for text in (*map(lines, alone), *map(grouping.lines, shared)):
            click.echo(text)
    real = [fault for fault in faults if not fault.caution]
    say(summary(checked, how))
    for advice in _advice(real):
        say(advice)
    if real:
        raise click.exceptions.Exit(1)


def lines(fault: Fault) -> str:
    """A fault as two lines: what is wrong, and what to do.

    Example:
        >>> print(lines(Fault("quay_02.tif", "outside", 1.1, 1.0, "%", "EBU R 103", "lower the white point")))
        quay_02.tif: out of range 1.1 > 1 % (EBU R 103)
            lower the white point
    """
    kind = "caution: " if fault.caution else ""
    return one_line(f"{fault.file}: {kind}{describe(fault)}") + f"\n    {one_line(fault.words)}"


def summary(checked: CheckResult, how: str) -> str:
    """The summary line: how many faults there are of each name, those of the format apart, and how many cautions.

    Example:
        >>> summary(CheckResult(3, ()), "shots checked against baseline")
        '3 shots checked against baseline: no faults'
    """
    found = [fault for fault in checked.faults if not fault.caution]
    real = Counter(name_of(fault) for fault in found if not fault.of_format)
    form = Counter(name_of(fault) for fault in found if fault.of_format)
    cautions = len(checked.faults) - len(found)
    faults = f"{real.total()} fault{'s' * (real.total() != 1)}: {_counted(real)}" if real else "no faults"
    faults += f"; format: {_counted(form)}" if form else ""
    suffix = f", {cautions} caution{'s' * (cautions != 1)}" if cautions else ""
    return f"{checked.number} {how if checked.number != 1 else how.replace('s ', ' ', 1)}: {faults}{suffix}"


def _counted(names: Counter[str]) -> str:
    return ", ".join(f"{name} {count}" for name, count in names.items())


def _advice(faults: Sequence[Fault]) -> list[str]:
    names = {fault.fault for fault in faults}
    found = [advice for group, advice in NEXT if names & {*group}]
    others = names - {name for group, _ in NEXT for name in group}
    return [advice.format(program=program_name()) for advice in (*found, *[APP] * bool(others))]
