"""The manifest: one JSON line for every output in a folder, from what it was made and what came out.

It is written as frames end and only ever appended to, so that a run that is killed leaves at most its last line torn; a
line that can't be read is passed over, and costs its frame a second making. A later line of an output stands for it.
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
from poise.errors import OutputError
from poise.frames.scan import MANIFEST
from poise.regular_file import open_without_links
from poise.stamp import Stamp

MOST_LINE = 1 << 16
"""Bytes; a longer line was not written here."""


class Record(msgspec.Struct, frozen=True):
    """One output.

    Attributes:
        output: its path below the folder, with `/` between names.
        source: the path that it was made from, as it was given.
        source_stamp, source_hash: of the source when it was read.
        recipe: the hash of decision, settings and version.
        output_stamp, output_hash: of what was written.
        by: the program.
    """

    output: str
    source: str
    source_stamp: Stamp
    source_hash: str
    recipe: str
    output_stamp: Stamp
    output_hash: str
    by: str


_DECODER = msgspec.json.Decoder(Record)


def encoded(record: Record) -> bytes:
    """A record as one line. Names of files that are no Unicode are escaped, which msgspec alone would refuse."""
    try:
        return msgspec.json.encode(record) + b"\n"
    except UnicodeEncodeError:
        return json.dumps(msgspec.to_builtins(record)).encode() + b"\n"


def decoded(line: bytes) -> Record | None:
    """The record of a line; None where it is torn or was not written here."""
    try:
        return _DECODER.decode(line)
    except (UnicodeDecodeError, RecursionError):
        return None
    except msgspec.DecodeError:
        with contextlib.suppress(ValueError, RecursionError, msgspec.ValidationError):
            return msgspec.convert(json.loads(line), Record)
        return None


def read(folder: Path) -> dict[str, Record]:
    """The records of a folder by output; none where there is no manifest.

    Raises:
        OutputError: it can't be read.
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
    """The manifest of a folder, open to be added to.

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
            if self._file.tell() and not _ends_whole(self._path):
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
        """Adds a record; it is with the system when this returns.

        Raises:
            OutputError: it can't be written.
        """
        try:
            self._file.write(encoded(record))
            self._file.flush()
        except OSError as fault:
            raise OutputError(self._path, f"can't be written: {fault.strerror}") from fault


def rewrite(folder: Path, records: Mapping[str, Record]) -> None:
    """The manifest written anew, whole or not at all, with one line for each output.

    Raises:
        OSError: it can't be written; the old one stands.
    """
    with atomic_replace(folder / MANIFEST) as temporary, temporary.open("wb") as file:
        for name in sorted(records):
            file.write(encoded(records[name]))
        file.flush()
        os.fsync(file.fileno())


def _ends_whole(path: Path) -> bool:
    with open(path, "rb", opener=open_without_links) as file:
        file.seek(-1, os.SEEK_END)
        return file.read(1) == b"\n"
