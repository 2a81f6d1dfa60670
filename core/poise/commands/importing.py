"""`poise import`: imports corrections from ASC CDL files into the shots that they name, or a CLF as a source."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import click

from poise.commands.shared.decisions import reason_to_keep
from poise.commands.shared.options import AS_JSON, SIDECARS
from poise.commands.shared.output import Report, data, say, shown, some
from poise.commands.shared.shots import Found, found
from poise.commands.shared.source import is_clf, name_source
from poise.correction import NEUTRAL, Correction, checked, default_encoding
from poise.errors import FileError, PoiseError, UsageError, ValueFault
from poise.exchange.cdl import CdlError, mismatched_code, read
from poise.exchange.matching import Matches, Offer, matched, offered


class _Command(click.Command):
    """Accepts several paths after one `--onto`, as a shell passes them for `day/*.tif`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        return super().parse_args(ctx, list(_spread(args)))


def _spread(args: Iterable[str]) -> Iterator[str]:
    onto, ended = False, False
    for arg in args:
        ended = ended or arg == "--"
        if ended:
            yield arg
        elif arg.startswith("-") and len(arg) > 1:
            onto = arg == "--onto"
            if not onto:
                yield arg
        else:
            yield f"--onto={arg}" if onto else arg


@click.command("import", cls=_Command)
@click.argument("files", metavar="FILE...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--onto", metavar="PATH...", multiple=True, required=True, type=click.Path(path_type=Path), help="The shots."
)
@click.option(
    "--again", is_flag=True, help="Also replace corrections made by hand, and those of shots held or skipped."
)
@click.option("--gives", metavar="NAME", help="clf: the transfer function of its output. Default: linear.")
@click.option("--dry-run", is_flag=True, help="Print what would be imported, and change nothing.")
@SIDECARS
@AS_JSON
def command(
    files: tuple[Path, ...],
    onto: tuple[Path, ...],
    again: bool,
    gives: str | None,
    dry_run: bool,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Import corrections from ASC CDL files (.cc, .ccc or .cdl), or make a .clf the source of shots.

    The MediaRef of a correction, its id or the name of its file identifies the shot: by the id that export writes, by
    path, by name, or by name without extension. A correction that fits several shots is not imported. A single
    correction is imported onto a single shot whatever its id. Slope, offset, power and saturation become those of the
    file, everything else becomes neutral; they apply to the shot's code value after any conversion.

    A .clf must be in the shot's folder or below it, and becomes the source of its encoding. Its output is linear light
    in the shot's primaries, or code of the transfer function that --gives names.

    Example: poise import handover/day.ccc --onto day

    Example: poise import day/camera_a.clf --onto day/quay_02.tif
    """
    if not files:
        raise UsageError("no FILE to import: name files first, then --onto followed by every PATH")
    report = Report()
    shots = found(onto, report, sidecars=sidecars)
    if any(map(is_clf, files)):
        name_source(files, shots, gives, dry_run, as_json, report)
        return
    if gives is not None:
        raise UsageError("--gives applies to a .clf only; leave it out")
    offers = [offer for file in files for offer in _offers(file, report)]
    matches = matched(offers, [one.shot for one in shots])
    _report_ambiguous(matches, shots, report)
    done, unchanged, passed = [], [], []
    for number, offer in sorted(matches.taken.items()):
        one = shots[number]
        reason = reason_to_keep(one, again)
        entry = {"file": str(one.path), "id": offer.name, "from": str(offer.file)}
        if one.sidecar is not None and one.sidecar.correction == offer.entry.cdl.correction:
            unchanged.append(entry)
        elif reason:
            passed.append({"file": str(one.path), "reason": reason})
            if not as_json:
                report.passed_over(one.path, reason)
        elif _done(one, offer, dry_run, report):
            done.append(entry)
            if not as_json:
                click.echo(f"{shown(one.path)}: {shown(offer.name)} of {shown(offer.file)}")
    without = [one.path for number, one in enumerate(shots) if number not in matches.taken]
    if as_json:
        result: dict[str, Any] = {"done": done, "unchanged": unchanged, "passed_over": passed}
        result["unmatched"] = [{"file": str(offer.file), "id": offer.name} for offer in matches.unmatched]
        result["without"] = [str(path) for path in without]
        result["failed"] = [{"file": str(path), "reason": reason} for path, reason in report.faults]
        data(result | {"dry_run": dry_run})
    elif offers:
        _left_over(matches.unmatched, without, report)
        if unchanged:
            say(f"{len(unchanged)} unchanged")
    settled = len(done) + len(unchanged) + len(report.faults)
    hint = "; a single correction is imported onto a single shot whatever its id" if matches.unmatched else ""
    report.need(settled, f"nothing to import: no correction is for any of the shots{hint}")
    report.end()


def _offers(file: Path, report: Report) -> list[Offer]:
    try:
        return offered(file, read(file))
    except CdlError as fault:
        report.fault(fault.path, fault.reason)
        return []


def _report_ambiguous(matches: Matches, shots: Sequence[Found], report: Report) -> None:
    """Report corrections that fit several shots, and shots that several corrections fit; none of them is imported."""
    for offer, numbers in matches.ambiguous:
        names = some([shots[number].path for number in numbers])
        report.fault(offer.file, f"{offer.name} fits {names}; name one of them with --onto")
    for number, both in sorted(matches.clashing.items()):
        names = " and ".join(f"{offer.name} of {offer.file}" for offer in both)
        report.fault(shots[number].path, f"{names} are both for this shot, and differ; import only one of them")


def _left_over(unmatched: Sequence[Offer], without: Sequence[Path], report: Report) -> None:
    for file in dict.fromkeys(offer.file for offer in unmatched):
        report.note(file, f"no shot for {some([offer.name for offer in unmatched if offer.file == file])}")
    if without:
        say(f"no correction for {some(without)}")


def _done(one: Found, offer: Offer, dry_run: bool, report: Report) -> bool:
    """Save a shot's correction, unless it is a dry run; report a fault. Returns whether it succeeded."""
    from poise.commands.shared.decisions import decide

    try:
        correction = _possible(one, offer, report)
        if not dry_run:
            decide(one, correction, by_hand=True)
    except FileError as fault:
        report.fault(fault.path, fault.reason)
    except ValueFault as fault:
        report.fault(one.path, f"{offer.name} exceeds the limits of poise: {fault}")
    except PoiseError as fault:
        report.fault(one.path, str(fault))
    else:
        return True
    return False


def _possible(one: Found, offer: Offer, report: Report) -> Correction:
    """The correction for a shot; side effects are reported as notes.

    Raises:
        PoiseError: the shot can't take the correction.
    """
    from poise.frames import probe

    header = probe(one.file)
    encoding = (one.sidecar.encoding if one.sidecar else None) or default_encoding(header.linear, header.tags)
    work, made = encoding.work, mismatched_code(offer.entry.input, encoding)
    if made:
        raise PoiseError(f"{offer.name} was made for {made} code, but would apply to {work} code here; not imported")
    correction = checked(offer.entry.cdl.correction)
    balance = correction.balance
    if header.channels < 3 and any(len(set(triple)) > 1 for triple in (balance.slope, balance.offset, balance.power)):
        raise PoiseError("a greyscale picture takes no balance between channels; level it")
    if encoding.source != work:
        report.note(one.path, f"its source is {encoding.source}: the CDL applies to {work} code, after that conversion")
    before = one.sidecar.correction if one.sidecar else NEUTRAL
    if before.mattes or before.curves != NEUTRAL.curves:
        report.note(one.path, "its mattes and curves were removed: a CDL has none")
    return correction
