"""What picture libraries print by themselves, past Python, reaches neither the terminal nor anyone who reads stdout."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO


@contextmanager
def quiet() -> Iterator[None]:
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
            through = open(kept[number], "w", encoding=stream.encoding, errors=stream.errors, closefd=False)  # noqa: SIM115
            through.reconfigure(line_buffering=name == "stderr" or stream.isatty())
            _put(name, through)
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
