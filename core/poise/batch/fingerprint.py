"""Fingerprints: the content of a file, and all that an output follows from, each as one short text."""

from pathlib import Path

import msgspec
import xxhash

from poise import __version__
from poise.batch.plan import Job
from poise.chain.source import portable

_BLOCK = 1 << 18
"""Bytes at a time: what is hashed still stands in the cache of the processor."""


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
    made = (__version__, job.correction, portable(job.encoding), job.format, job.depth, job.stamp)
    return xxhash.xxh3_128(msgspec.json.encode(made, order="sorted")).hexdigest()


def mark(job: Job) -> str | None:
    """What an output says about itself: the program, and the start of the recipe, which leads to the manifest.

    Example:
        mark(job)  # "poise 0.1.0 correction 5f0c1b9a3d2e4f60"
    """
    return f"poise {__version__} correction {recipe(job)[:16]}" if job.stamp else None
