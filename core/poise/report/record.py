"""The record: the report as JSON, with the hashes of its files."""

import json
import os
from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from poise.chain.source import portable
from poise.delivery.record import Entry, Record, hash_of
from poise.report.gather import Row


def record(rows: Sequence[Row], folder: str, at: str) -> dict[str, Any]:
    """The report as JSON, with the hashes of every source, decision and output.

    Args:
        folder: the folder that was reported, as text.
        at: the time, ISO 8601, UTC.
    """
    hashes = Record(files=tuple(entry for row in rows for entry in _files(row)))
    return {**msgspec.to_builtins(hashes), "at": at, "folder": folder, "shots": [_shot(row) for row in rows]}


def embedded(found: dict[str, Any]) -> str:
    """A record as JSON for a script element, escaped so that it can't end the element or begin a comment.

    Example:
        >>> embedded({"file": "</script><!--"})
        '{"file":"\\\\u003c/script\\\\u003e\\\\u003c!--"}'
    """
    text = json.dumps(found, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _files(row: Row) -> Iterator[Entry]:
    shot, examined, sidecar = row.subject.shot, row.examined, row.subject.sidecar
    if shot is None or examined is None:
        return
    decision = hash_of(sidecar, shot.first.parent)
    for file, content in zip(shot.files, examined.hashes, strict=True):
        made = row.outputs.get(file)
        output = (made.output, made.output_hash) if made else ("", "")
        yield Entry(shot.relative(file).as_posix(), content, decision, *output)


def _shot(row: Row) -> dict[str, Any]:
    subject, examined = row.subject, row.examined
    found: dict[str, Any] = {"file": os.fspath(subject.path), "state": subject.state}
    if subject.shot:
        found["frames"] = len(subject.shot.files)
    if row.frame is not None:
        found["frame"] = row.frame
    if examined:
        found |= {"width": examined.width, "height": examined.height, "depth": examined.depth}
        found["encoding"] = portable(examined.encoding)
    if subject.sidecar:
        found["note"] = subject.sidecar.note
        found["correction"] = msgspec.to_builtins(subject.correction)
        if subject.sidecar.steady:
            found["steady"] = msgspec.to_builtins(subject.sidecar.steady)
        if subject.sidecar.keyframes:
            found["keyframes"] = msgspec.to_builtins(subject.sidecar.keyframes)
    if examined:
        found["readings"] = {"before": examined.before.readings.to_json(), "after": examined.shown.readings.to_json()}
    if row.drift:
        found["drift"] = row.drift.to_json()
    found["faults"] = [fault.to_json() for fault in row.faults]
    if row.trouble:
        found["trouble"] = list(row.trouble)
    return found
