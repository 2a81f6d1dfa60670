"""What picture libraries print by themselves, past Python, reaches neither the terminal nor anyone who reads stdout."""

import io
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO

_thread = threading.local()


class _Through(io.TextIOWrapper):
    """A stream that drops what is written by a thread that is to be silent."""

    def write(self, text: str) -> int:
        return len(text) if getattr(_thread, "silent", False) else super().write(text)


@contextmanager
def suppress_python_output() -> Iterator[None]:
    """Drops what this thread prints through Python while it lasts, within `suppress_native_output`."""
    _thread.silent = True
    try:
        yield
    finally:
        _thread.silent = False


@contextmanager
def suppress_native_output() -> Iterator[None]:
    """While it lasts, descriptors 1 and 2 lead nowhere, and Python's own streams go on through others.

    Streams that a caller put in place of Python's are left alone.
    """
    streams = {1: ("stdout", sys.stdout), 2: ("stderr", sys.stderr)}
    try:
        own = all(stream is getattr(sys, f"__{name}__") for name, stream in streams.values())
        own = own and all(stream.fileno() == number for number, (_, stream) in streams.items())
    except (AttributeError, OSError, ValueError):  # closed, or none at all
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
