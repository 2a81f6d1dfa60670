"""How faults are told: each with file, what it is, value, limit and source, then how many and what to do next."""

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import click

from poise.commands.checking import together
from poise.commands.shared.output import data, say
from poise.delivery.fault import Fault, told
from poise.errors import one_line

NEXT = (
    (("missing", "stale", "damaged"), "poise apply makes outputs that are missing, stale or damaged"),
    (("unreadable", "sidecar", "gap"), "files that can't be read are told above: copy or mend them, then check again"),
    (("changed", "extra", "path"), "a record that no longer holds: put the files back, or make it anew"),
)
"""What to do about some faults; about all others, in the app."""
APP = "poise FOLDER opens the shots: I lists those with faults, the readings tell why"


class Checked(NamedTuple):
    """How many shots or files were looked at, and what is wrong with them."""

    number: int
    faults: tuple[Fault, ...]


def tell(checked: Checked, how: str, as_json: bool) -> None:
    """Prints all faults and ends the command.

    Args:
        how: it was checked, in words.

    Raises:
        click.exceptions.Exit: with code 1, where there are faults.
    """
    faults = checked.faults
    if as_json:
        data([fault.to_json() for fault in faults])
    else:
        alone, shared = together.grouped(faults)
        for text in (*map(lines, alone), *map(together.lines, shared)):
            click.echo(text)
    real = [fault for fault in faults if not fault.caution]
    say(summary(checked, how))
    for do in _next(real):
        say(do)
    if real:
        raise click.exceptions.Exit(1)


def lines(fault: Fault) -> str:
    """One fault in two lines.

    Example:
        >>> print(lines(Fault("quay_02.tif", "outside", 1.1, 1.0, "%", "EBU R 103", "lower the white point")))
        quay_02.tif: outside 1.1 %, limit 1 % (EBU R 103)
            lower the white point
    """
    kind = "caution: " if fault.caution else ""
    return one_line(f"{fault.file}: {kind}{told(fault)}") + f"\n    {one_line(fault.words)}"


def summary(checked: Checked, how: str) -> str:
    """How many there are, by name.

    Example:
        >>> summary(Checked(3, ()), "shots checked by baseline")
        '3 shots checked by baseline: no faults'
    """
    real = Counter(fault.fault for fault in checked.faults if not fault.caution)
    cautions = sum(fault.caution for fault in checked.faults)
    named = ", ".join(f"{name} {count}" for name, count in real.items())
    faults = f"{real.total()} fault{'s' * (real.total() != 1)}: {named}" if real else "no faults"
    looked = f", {cautions} to look at" if cautions else ""
    return f"{checked.number} {how if checked.number != 1 else how.replace('s ', ' ', 1)}: {faults}{looked}"


def _next(faults: Sequence[Fault]) -> list[str]:
    names = {fault.fault for fault in faults}
    found = [do for some, do in NEXT if names & {*some}]
    return [*found, APP] if names - {name for some, _ in NEXT for name in some} else found
