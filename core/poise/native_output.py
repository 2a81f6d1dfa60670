"""Keeps messages that native picture libraries print off the terminal and out of stdout."""

import io
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO

_thread = threading.local()


class _Through(io.TextIOWrapper):
    """A stream that drops the output of silenced threads."""

    def write(self, text: str) -> int:
        return len(text) if getattr(_thread, "silent", False) else super().write(text)


@contextmanager
def suppress_python_output() -> Iterator[None]:
    """Drop the Python output of this thread, inside `suppress_native_output`."""
    _thread.silent = True
    try:
        yield
    finally:
        _thread.silent = False


@contextmanager
def suppress_native_output() -> Iterator[None]:
    """Redirect descriptors 1 and 2 to the null device, while Python's own streams still reach their targets.

    Does nothing if a caller has replaced Python's streams.
    """
    streams = {1: ("stdout", sys.stdout), 2: ("stderr", sys.stderr)}
    try:
        own = all(stream is getattr(sys, f"__{name}__") for name, stream in streams.values())
        own = own and all(stream.fileno() == number for number, (_, stream) in streams.items())
    except (AttributeError, OSError, ValueError):  # a stream is closed or missing
        own = False
    if not own:
        yield
        return
    kept = {number: os.dup(number) for number in streams}
    try:
        for number, (name, stream) in streams.items():
            stream.flush()
            file = open(kept[number], "wb", closefd=False)  # noqa: SIM115
            lines = name == "stderr" or stream.isatty()
            _put(name, _Through(file, stream.encoding, stream.errors, line_buffering=lines))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        for number in streams:
            os.dup2(nowhere, number)
        os.close(nowhere)
        yield
    finally:
        for number, (name, stream) in streams.items():
            with suppress(OSError):
                getattr(sys, name).flush()
            _put(name, stream)
            os.dup2(kept[number], number)
            os.close(kept[number])


def _put(name: str, stream: TextIO) -> None:
    setattr(sys, name, stream)
    setattr(sys, f"__{name}__", stream)
