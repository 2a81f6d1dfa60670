"""A process that reads hostile pictures one after the other, so that one that kills it is a finding and no more."""

import multiprocessing
import resource
import tempfile
import warnings
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import numpy as np

SECONDS = 20.0
"""What a picture of a few kilobytes may take, on a machine that has much else to do."""
MEMORY = 2**30
"""What its reading may ask for beyond what the process has: 65536 times its size, and copies of that."""

READ_ONLY = (".webp", ".bmp")
"""Of these, PNG is what is written again."""


class Court:
    """One process, begun anew when it dies or hangs."""

    def __init__(self) -> None:
        self._begin()

    def verdict(self, ending: str, content: bytes) -> str:
        """What is wrong with how poise takes this content; empty when nothing is."""
        self._pipe.send((ending, content))
        try:
            if self._pipe.poll(SECONDS):
                return str(self._pipe.recv())
            fault = f"no answer in {SECONDS:g} s"
        except (EOFError, OSError):
            self._process.join(5)
            fault = f"the process died (exit code {self._process.exitcode})"
        self.end()
        self._begin()
        return fault

    def end(self) -> None:
        self._process.kill()
        self._process.join()
        self._pipe.close()

    def _begin(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, there = context.Pipe()
        self._process = context.Process(target=_sit, args=(there,), daemon=True)
        self._process.start()
        there.close()


def _sit(pipe: "Connection[Any, Any]") -> None:
    from poise.frames.codecs import FORMATS

    warnings.simplefilter("ignore")
    for kind in FORMATS.values():
        assert kind.codec
    taken = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (taken + MEMORY, taken + MEMORY))
    with tempfile.TemporaryDirectory() as folder:
        while True:
            try:
                ending, content = pipe.recv()
            except EOFError:
                return
            pipe.send(_judged(Path(folder), ending, content))


def _judged(folder: Path, ending: str, content: bytes) -> str:
    """Whether a picture is read and written again, or refused in one line."""
    from poise.errors import FrameError, OutputError
    from poise.frames import probe, read, write

    path, again = folder / f"quay{ending}", folder / f"again{'.png' if ending in READ_ONLY else ending}"
    path.write_bytes(content)
    try:
        frame = read(path)
    except FrameError as fault:
        return _line(fault)
    except BaseException as fault:
        return f"read raises {type(fault).__name__}: {fault}"
    try:
        header = probe(path)
        if (header.height, header.width, header.channels) != frame.pixels.shape or header.depth != frame.depth:
            return f"probe says {header} of {frame.pixels.shape}, {frame.depth}"
        write(again, frame)
        pixels = read(again).pixels
        if ending not in (".jpg", ".exr") and pixels.tobytes() != frame.pixels.tobytes():
            return f"written again it differs by {np.count_nonzero(pixels != frame.pixels)} values"
    except OutputError as fault:
        return _line(fault)
    except BaseException as fault:
        return f"what was read can't be probed or written again: {type(fault).__name__}: {fault}"
    return ""


def _line(fault: Any) -> str:
    told = str(fault)
    if not told.isprintable() or len(told) > 500 or "memory" in fault.reason:
        return f"it is refused by {told!r}"
    return ""
