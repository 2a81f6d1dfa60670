"""Fingerprints: what tells whether a file is still the one that was read or written, and whether work would differ."""

import os
from dataclasses import dataclass
from pathlib import Path

import msgspec
import xxhash

from poise import __version__
from poise.batch.plan import Job

_BLOCK = 1 << 20


@dataclass(frozen=True)
class Stamp:
    """What the file system says of a file: enough to see without reading it that nobody touched it.

    Attributes:
        size: in bytes.
        modified: nanoseconds; of the content.
        changed: nanoseconds; of anything, which a copy that keeps the time of the content can't hide.
    """

    size: int
    modified: int
    changed: int


def stamp(path: Path) -> Stamp:
    """The stamp of a file.

    Raises:
        OSError: there is none, or it can't be reached.
    """
    found = os.stat(path)
    return Stamp(found.st_size, found.st_mtime_ns, found.st_ctime_ns)


def digest(path: Path) -> str:
    """The XXH3 hash of a file's content, 128 bits in hexadecimal: it proves against accidents, not against malice.

    Raises:
        OSError: it can't be read.

    Example:
        digest(Path("balanced/quay_02.tif"))
    """
    hashed = xxhash.xxh3_128()
    with path.open("rb", buffering=0) as file:
        while block := file.read(_BLOCK):
            hashed.update(block)
    return hashed.hexdigest()


def recipe(job: Job) -> str:
    """The hash of all that an output follows from besides its source: decision, settings, and the version of poise."""
    made = (__version__, job.correction, job.encoding, job.format, job.depth, job.stamp)
    return xxhash.xxh3_128(msgspec.json.encode(made, order="sorted")).hexdigest()


def mark(job: Job) -> str | None:
    """What an output says about itself: the program, and the start of the recipe, which leads to the manifest.

    Example:
        mark(job)  # "poise 0.1.0 correction 5f0c1b9a3d2e4f60"
    """
    return f"poise {__version__} correction {recipe(job)[:16]}" if job.stamp else None
