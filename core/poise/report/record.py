"""The record: what a report says, as JSON, with what proves which files it was about."""

import json
import os
from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from poise.chain.source import located, portable
from poise.delivery.record import Entry, Record, decision_hash
from poise.report.gather import Row


def record(rows: Sequence[Row], folder: str, at: str) -> dict[str, Any]:
    """Everything that a report says, and for every file its hash, that of its decision, and that of its output.

    Args:
        folder: what was reported.
        at: when, ISO 8601, UTC.
    """
    proof = Record(files=tuple(entry for row in rows for entry in _files(row)))
    return {**msgspec.to_builtins(proof), "at": at, "folder": folder, "shots": [_shot(row) for row in rows]}


def embedded(found: dict[str, Any]) -> str:
    """A record as JSON that can stand in a script element: nothing in it ends one, or begins a comment.

    Example:
        >>> embedded({"file": "</script><!--"})
        '{"file":"\\\\u003c/script\\\\u003e\\\\u003c!--"}'
    """
    text = json.dumps(found, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _files(row: Row) -> Iterator[Entry]:
    shot, seen, sidecar = row.subject.shot, row.seen, row.subject.sidecar
    if shot is None or seen is None:
        return
    decision = decision_hash(sidecar.correction, located(sidecar.encoding, shot.first.parent)) if sidecar else ""
    for file, content in zip(shot.files, seen.hashes, strict=True):
        made = row.outputs.get(file)
        output = (made.output, made.output_hash) if made else ("", "")
        yield Entry(shot.relative(file).as_posix(), content, decision, *output)


def _shot(row: Row) -> dict[str, Any]:
    subject, seen = row.subject, row.seen
    found: dict[str, Any] = {"file": os.fspath(subject.path), "state": subject.state}
    if subject.shot:
        found["frames"] = len(subject.shot.files)
    if row.frame is not None:
        found["frame"] = row.frame
    if seen:
        found |= {"width": seen.width, "height": seen.height, "depth": seen.depth}
        found["encoding"] = msgspec.to_builtins(portable(seen.encoding))
    if subject.sidecar:
        found["note"] = subject.sidecar.note
        found["correction"] = msgspec.to_builtins(subject.correction)
    if seen:
        found["readings"] = {"before": seen.before.readings.to_json(), "after": seen.shown.readings.to_json()}
    if row.drift:
        found["drift"] = row.drift.to_json()
    found["faults"] = [fault.to_json() for fault in row.faults]
    if row.trouble:
        found["trouble"] = list(row.trouble)
    return found
