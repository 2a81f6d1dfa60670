"""`poise import`: corrections from ASC CDL files go to the shots that they name, a CLF becomes the source of shots."""

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
from poise.exchange.cdl import CdlError, other, read
from poise.exchange.matching import Matches, Offer, matched, offered


class _Command(click.Command):
    """Takes many paths after one `--onto`, as a shell gives them for `day/*.tif`."""

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
@click.option("--onto", metavar="PATH...", multiple=True, required=True, type=click.Path(path_type=Path), help="Shots.")
@click.option("--again", is_flag=True, help="Also replace corrections made by hand, and of shots held or skipped.")
@click.option("--gives", metavar="NAME", help="clf: what comes out of it, a transfer function; linear when not given.")
@click.option("--dry-run", is_flag=True, help="Print what would go where, and change nothing.")
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
    """Take corrections over from ASC CDL files: .cc, .ccc or .cdl; or make a .clf the source of shots.

    A correction goes to the shot that its MediaRef, its id or the name of its file tells: by the id that export gives,
    by path, by name, or by name without ending. Where that is several shots, none gets it. One correction onto one shot
    is taken whatever its id. Slope, offset, power and saturation become those of the file, and all else becomes
    neutral; they work on the shot's code value after any conversion.

    A .clf must stand in the shot's folder or below it, and is named there as the source of its encoding. What comes out
    of it is linear light in the shot's primaries, or the code of the transfer function that --gives names.

    Example: poise import handover/day.ccc --onto day

    Example: poise import day/camera_a.clf --onto day/quay_02.tif
    """
    if not files:
        raise UsageError("no FILE to import: name files first, then --onto, which takes all that follows as PATH")
    report = Report()
    shots = found(onto, report, sidecars=sidecars)
    if any(map(is_clf, files)):
        name_source(files, shots, gives, dry_run, as_json, report)
        return
    if gives is not None:
        raise UsageError("--gives is about a .clf; leave it out")
    offers = [offer for file in files for offer in _offers(file, report)]
    matches = matched(offers, [one.shot for one in shots])
    _unsettled(matches, shots, report)
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
    hint = "; one correction onto one shot is taken whatever its id" if matches.unmatched else ""
    report.need(settled, f"nothing to import: no shot is left that a correction is for{hint}")
    report.end()


def _offers(file: Path, report: Report) -> list[Offer]:
    try:
        return offered(file, read(file))
    except CdlError as fault:
        report.fault(fault.path, fault.reason)
        return []


def _unsettled(matches: Matches, shots: Sequence[Found], report: Report) -> None:
    """What can't be told apart is told, and goes nowhere."""
    for offer, numbers in matches.unclear:
        names = some([shots[number].path for number in numbers])
        report.fault(offer.file, f"{offer.name} fits {names}; name the one that it is for with --onto")
    for number, both in sorted(matches.clashing.items()):
        names = " and ".join(f"{offer.name} of {offer.file}" for offer in both)
        report.fault(shots[number].path, f"{names} are both for it, and differ; import one of them")


def _left_over(unmatched: Sequence[Offer], without: Sequence[Path], report: Report) -> None:
    for file in dict.fromkeys(offer.file for offer in unmatched):
        report.note(file, f"no shot for {some([offer.name for offer in unmatched if offer.file == file])}")
    if without:
        say(f"nothing for {some(without)}")


def _done(one: Found, offer: Offer, dry_run: bool, report: Report) -> bool:
    """Writes a shot's correction, unless nothing is to be changed; tells why it wasn't done."""
    from poise.commands.shared.decisions import decide

    try:
        correction = _possible(one, offer, report)
        if not dry_run:
            decide(one, correction, hand=True)
    except FileError as fault:
        report.fault(fault.path, fault.reason)
    except ValueFault as fault:
        report.fault(one.path, f"{offer.name} is beyond what poise takes: {fault}")
    except PoiseError as fault:
        report.fault(one.path, str(fault))
    else:
        return True
    return False


def _possible(one: Found, offer: Offer, report: Report) -> Correction:
    """The correction for a shot, once it can take it; what changes by it beyond numbers is told.

    Raises:
        PoiseError: it can't.
    """
    from poise.frames import probe

    header = probe(one.file)
    encoding = (one.sidecar.encoding if one.sidecar else None) or default_encoding(header.linear)
    work, made = encoding.work, other(offer.entry.input, encoding)
    if made:
        raise PoiseError(f"{offer.name} was made for {made} code, but would work on {work} code here; not taken")
    correction = checked(offer.entry.cdl.correction)
    balance = correction.balance
    if header.channels < 3 and any(len(set(triple)) > 1 for triple in (balance.slope, balance.offset, balance.power)):
        raise PoiseError("a greyscale picture takes no balance between channels; level it")
    if encoding.source != work:
        report.note(one.path, f"its source is {encoding.source}: the CDL works on {work} code, after that conversion")
    before = one.sidecar.correction if one.sidecar else NEUTRAL
    if before.mattes or before.curves != NEUTRAL.curves:
        report.note(one.path, "the mattes and curves that were there are gone: a CDL has none")
    return correction
