"""`poise export --to clf`: the Common LUT Format, one file per shot, with exactly the operations that apply runs."""

from collections.abc import Sequence
from typing import Any

import click
from msgspec.structs import replace

from poise import __version__
from poise.batch.fingerprint import digest, recipe
from poise.batch.plan import Job
from poise.chain.matte import active
from poise.commands.exporting import ExportJob, ExportOptions, expressed
from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found
from poise.correction import NEUTRAL, default_encoding
from poise.engine import compile_engine
from poise.errors import FileError, PoiseError, one_line
from poise.exchange import names
from poise.exchange.clf import About, clf
from poise.exchange.destination import Destination
from poise.exchange.seal import sealed
from poise.frames import probe
from poise.frames.codecs import by_extension

TAKES = frozenset({"without_mattes"})


def export(shots: Sequence[Found], options: ExportOptions, into: Destination, report: Report) -> list[dict[str, Any]]:
    """Write the files, print a line for each shot, and return an entry for each one written."""
    done: list[dict[str, Any]] = []
    for job, (content, about) in expressed(express, shots, ".clf", options, report):
        try:
            path = into.put(job.file, sealed(content))
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        else:
            left = about["left_out"]
            done.append({"file": str(job.path), "clf": str(path), **about})
            if left:
                report.note(job.path, f"exported without its mattes {', '.join(left)}")
            if not options.as_json:
                click.echo(f"{shown(job.path)}: {shown(path)}, for {about['for']}")
    return done


def express(job: ExportJob) -> tuple[bytes, dict[str, Any]]:
    """The content of a shot's file, and its entry for JSON.

    Raises:
        PoiseError: it has mattes that are not left out, it can't take the correction, or its picture can't be read.
    """
    one = job.one
    correction = one.sidecar.correction if one.sidecar else NEUTRAL
    mattes = [one_line(matte.name) for matte in active(correction.mattes)]
    if mattes and not job.options.without_mattes:
        raise PoiseError(
            f"a CLF can't represent mattes, and it has {', '.join(mattes)}; leave them out with --without-mattes"
        )
    header = probe(one.file)
    decision = one.decision
    encoding = (decision.encoding if decision else None) or default_encoding(header.linear, header.tags)
    plain = replace(correction, mattes=())
    if header.channels < 3:
        compile_engine(plain, encoding, header.depth).fits_grey()
    mark = _mark(one)
    try:
        source = digest(one.file)
    except OSError as fault:
        raise FileError(one.file, f"{fault.strerror}".lower()) from fault
    lines = [f"shot {names.place(one.shot)}", f"correction {mark}", f"source {one.file.name}, XXH3 {source}"]
    if mattes:
        lines.append(f"without the mattes {', '.join(mattes)}")
    about = About(job.id, one_line(one.shot.name), f"poise {__version__}", [one_line(line) for line in lines])
    content = clf(plain, encoding, header.depth, about)
    depth = header.depth.value if header.depth.is_float else f"{header.depth.bits} bit"
    return content, {"id": job.id, "for": depth, "correction": mark, "source": source, "left_out": mattes}


def _mark(one: Found) -> str:
    """The hash that names this correction in the outputs of apply and in its manifest."""
    decision, kind = one.decision, by_extension(one.file)
    assert kind is not None  # scan lists nothing else
    correction, encoding = (decision.correction, decision.encoding) if decision else (NEUTRAL, None)
    return recipe(Job(one.file, one.file, correction, encoding, kind.output.name, None))[:16]
