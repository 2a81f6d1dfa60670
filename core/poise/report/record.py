"""The record: what a report says, as JSON, with what proves which files it was about."""

import json
import os
from collections.abc import Sequence
from typing import Any

import msgspec
import xxhash

from poise import __version__
from poise.correction.model import Correction, Encoding
from poise.report.gather import Row

VERSION = 1


def decided(correction: Correction, encoding: Encoding | None) -> str:
    """The hash of what was decided about a shot; an encoding of None is the file's default."""
    return xxhash.xxh3_128(msgspec.json.encode((correction, encoding), order="sorted")).hexdigest()


def record(rows: Sequence[Row], folder: str, at: str) -> dict[str, Any]:
    """Everything that a report says, and for every file its hash, that of its decision, and that of its output.

    Args:
        folder: what was reported.
        at: when, ISO 8601, UTC.
    """
    return {
        "poise_record": VERSION,
        "by": f"poise {__version__}",
        "at": at,
        "folder": folder,
        "files": [entry for row in rows for entry in _files(row)],
        "shots": [_shot(row) for row in rows],
    }


def embedded(found: dict[str, Any]) -> str:
    """A record as JSON that can stand in a script element: nothing in it ends one, or begins a comment.

    Example:
        >>> embedded({"file": "</script><!--"})
        '{"file":"\\\\u003c/script\\\\u003e\\\\u003c!--"}'
    """
    text = json.dumps(found, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _files(row: Row) -> list[dict[str, Any]]:
    shot, seen = row.subject.shot, row.seen
    if shot is None or seen is None:
        return []
    sidecar = row.subject.sidecar
    decision = decided(sidecar.correction, sidecar.encoding) if sidecar else ""
    found = []
    for file, content in zip(shot.files, seen.hashes, strict=True):
        entry = {"source": shot.relative(file).as_posix(), "hash": content}
        made = row.outputs.get(file)
        if decision:
            entry["decision"] = decision
        if made is not None:
            entry |= {"output": made.output, "output_hash": made.output_hash}
        found.append(entry)
    return found


def _shot(row: Row) -> dict[str, Any]:
    subject, seen = row.subject, row.seen
    found: dict[str, Any] = {"file": os.fspath(subject.path), "state": subject.state}
    if subject.shot:
        found["frames"] = len(subject.shot.files)
    if row.frame is not None:
        found["frame"] = row.frame
    if seen:
        found |= {"width": seen.width, "height": seen.height, "depth": seen.depth}
        found["encoding"] = msgspec.to_builtins(seen.encoding)
    if subject.sidecar:
        found["note"] = subject.sidecar.note
        found["correction"] = msgspec.to_builtins(subject.correction)
    if seen:
        found["readings"] = {"before": seen.before.readings.to_json(), "after": seen.shown.readings.to_json()}
        if seen.drift:
            found["drift"] = seen.drift.to_json()
    if row.trouble:
        found["trouble"] = list(row.trouble)
    return found
