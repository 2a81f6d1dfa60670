"""Reads a record of files: the manifest of a batch, or the JSON of a report."""

import json
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

import msgspec

from poise.batch import manifest
from poise.delivery.fault import Fault
from poise.delivery.record import VERSION, Record
from poise.delivery.verify import SOURCE, Claim
from poise.errors import UsageError, one_line
from poise.frames.scan import MANIFEST
from poise.regular_file import open_regular_file

LARGEST = 256 * 2**20


@dataclass(frozen=True)
class Recorded:
    """The content of a record.

    Attributes:
        outputs, sources: in order.
        decisions: the hashes of decisions by source; None for a manifest. There are several for one source if folders
            were reported together that have a file of the same name.
        faults: parts of the record itself that can't be read.
    """

    outputs: tuple[Claim, ...]
    sources: tuple[Claim, ...]
    decisions: dict[str, set[str]] | None = None
    faults: tuple[Fault, ...] = ()


def read(path: Path) -> Recorded:
    """Read a manifest or a report.

    Raises:
        UsageError: the file can't be read, or is neither.

    Example:
        read(Path("balanced/poise-manifest.jsonl")).outputs
    """
    try:
        with open(path, "rb", opener=open_regular_file) as file:
            content = file.read(LARGEST + 1)
    except OSError as fault:
        if path.is_dir():
            raise UsageError(f"{one_line(path)}: this is a folder; name the record in it, such as {MANIFEST}") from None
        reason = (fault.strerror or str(fault)).lower()
        raise UsageError(f"{one_line(path)}: can't be read: {reason}; check the name") from None
    if len(content) > LARGEST:
        raise UsageError(f"{one_line(path)}: larger than {LARGEST >> 20} MB, so neither a manifest nor a record")
    lines = [line for line in content.split(b"\n") if line.strip()]
    records = [manifest.decoded(line) for line in lines]
    if any(record is not None for record in records):
        return _of_manifest(path, records)
    return _of_record(_record(path, content))


def _of_manifest(path: Path, records: list[manifest.Record | None]) -> Recorded:
    latest = {record.output: record for record in records if record is not None}
    torn = sum(record is None for record in records)
    words = f"{torn} of its {len(records)} lines can't be read, so their files are not checked"
    faults = (Fault(str(path), "unreadable", float(torn), 0.0, "lines", SOURCE, words),) if torn else ()
    # an output has the relative path of its source, perhaps with another extension
    sources = {
        str(PurePosixPath(one.output).parent / PurePosixPath(one.source).name): one.source_hash
        for one in latest.values()
    }
    return Recorded(
        tuple(Claim(one.output, one.output_hash, "output") for one in latest.values()),
        tuple(Claim(name, content, "source") for name, content in sources.items()),
        faults=faults,
    )


def _record(path: Path, content: bytes) -> Record:
    neither = UsageError(f"{one_line(path)}: neither a manifest of apply nor a record of poise report --json")
    try:
        found = json.loads(content)  # unlike msgspec, it accepts file names that are not valid Unicode
    except (ValueError, RecursionError):
        raise neither from None
    if not isinstance(found, dict) or "poise_record" not in found or "files" not in found:
        raise neither
    version = found["poise_record"]
    if isinstance(version, int) and version > VERSION:
        raise UsageError(f"{one_line(path)}: written by a newer poise (record {version}); update poise")
    try:
        return msgspec.convert(found, Record)
    except msgspec.ValidationError as fault:
        raise UsageError(f"{one_line(path)}: a damaged record: {one_line(fault)}; write a new one") from None


def _of_record(record: Record) -> Recorded:
    decisions: dict[str, set[str]] = {}
    for one in record.files:
        decisions.setdefault(one.source, set()).add(one.decision)
    return Recorded(
        tuple(dict.fromkeys(Claim(one.output, one.output_hash, "output") for one in record.files if one.output)),
        tuple(dict.fromkeys(Claim(one.source, one.hash, "source") for one in record.files)),
        decisions,
    )
