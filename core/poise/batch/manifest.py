"""The manifest: one JSON line for each output in a folder, with the hashes of its source, settings and content.

It is only appended to, as each frame ends, so a run that is killed leaves at most its last line incomplete. A line that
can't be read is ignored, and its output is written again. The last line about an output counts.
"""

import contextlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

import msgspec

from poise.atomic import atomic_replace
from poise.correction.model import Range
from poise.errors import OutputError
from poise.frames.scan import MANIFEST
from poise.regular_file import open_without_links
from poise.stamp import Stamp

MOST_LINE = 1 << 16
"""Bytes; no line written by poise is longer."""


class Record(msgspec.Struct, frozen=True):
    """One output.

    Attributes:
        output: its path below the folder, with `/` between names.
        source: the path of its source, as given.
        source_stamp, source_hash: of the source when it was read.
        recipe: the hash of decision, settings and version.
        output_stamp, output_hash: of the output as written.
        by: the program and its version.
        range: of its codes, full or narrow; None in a record of an earlier version.
    """

    output: str
    source: str
    source_stamp: Stamp
    source_hash: str
    recipe: str
    output_stamp: Stamp
    output_hash: str
    by: str
    range: Range | None = None


_DECODER = msgspec.json.Decoder(Record)


def encoded(record: Record) -> bytes:
    """A record as one line. File names that are not valid Unicode are escaped, which msgspec refuses to do."""
    try:
        return msgspec.json.encode(record) + b"\n"
    except UnicodeEncodeError:
        return json.dumps(msgspec.to_builtins(record)).encode() + b"\n"


def decoded(line: bytes) -> Record | None:
    """The record in a line; None if the line is incomplete or not from poise."""
    try:
        return _DECODER.decode(line)
    except (UnicodeDecodeError, RecursionError):
        return None
    except msgspec.DecodeError:
        with contextlib.suppress(ValueError, RecursionError, msgspec.ValidationError):
            return msgspec.convert(json.loads(line), Record)
        return None


def read(folder: Path) -> dict[str, Record]:
    """Read the records of a folder, by output; empty if there is no manifest.

    Raises:
        OutputError: the manifest can't be read.
    """
    records: dict[str, Record] = {}
    try:
        with open(folder / MANIFEST, "rb", opener=open_without_links) as file:
            while line := file.readline(MOST_LINE):
                record = decoded(line)
                if record is not None:
                    records[record.output] = record
    except FileNotFoundError:
        return {}
    except OSError as fault:
        raise OutputError(folder / MANIFEST, f"can't be read: {fault.strerror}") from fault
    return records


class Manifest:
    """The manifest of a folder, open for appending.

    Raises:
        OutputError: it can't be written.

    Example:
        with Manifest(folder) as manifest:
            manifest.add(record)
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / MANIFEST
        try:
            self._file = open(self._path, "ab", opener=open_without_links)  # noqa: SIM115 - closed on leaving
            if self._file.tell() and not _ends_with_newline(self._path):
                self._file.write(b"\n")
        except OSError as fault:
            raise OutputError(self._path, f"can't be written: {fault.strerror}") from fault

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        with contextlib.suppress(OSError):
            os.fsync(self._file.fileno())
        self._file.close()

    def add(self, record: Record) -> None:
        """Append a record, and flush it to the operating system.

        Raises:
            OutputError: it can't be written.
        """
        try:
            self._file.write(encoded(record))
            self._file.flush()
        except OSError as fault:
            raise OutputError(self._path, f"can't be written: {fault.strerror}") from fault


def rewrite(folder: Path, records: Mapping[str, Record]) -> None:
    """Replace the manifest atomically by one with a single line for each output.

    Raises:
        OSError: it can't be written; the old one is kept.
    """
    with atomic_replace(folder / MANIFEST) as temporary, temporary.open("wb") as file:
        for name in sorted(records):
            file.write(encoded(records[name]))
        file.flush()
        os.fsync(file.fileno())


def _ends_with_newline(path: Path) -> bool:
    with open(path, "rb", opener=open_without_links) as file:
        file.seek(-1, os.SEEK_END)
        return file.read(1) == b"\n"
