"""Fingerprints: hashes of the content of a file, and of everything that determines an output."""

from functools import lru_cache
from pathlib import Path

import msgspec
import xxhash

from poise import __version__
from poise.batch.plan import Job
from poise.chain.source import portable
from poise.correction.model import Range
from poise.frames.clip_frame import ClipFrame
from poise.stamp import Stamp, stamp

_BLOCK = 1 << 18
"""Bytes read at a time; small enough for the processor cache."""


def digest(path: Path) -> str:
    """The XXH3 hash of a file's content, 128 bits in hexadecimal; detects accidental changes, not malicious ones.

    Raises:
        OSError: the file can't be read.

    Example:
        digest(Path("balanced/quay_02.tif"))
    """
    hashed = xxhash.xxh3_128()
    with path.open("rb", buffering=0) as file:
        while block := file.read(_BLOCK):
            hashed.update(block)
    return hashed.hexdigest()


def source_digest(path: Path) -> str:
    """As `digest`; a clip is read once for all its frames, as long as its stamp is the same."""
    return _clip_digest(Path(str(path)), stamp(path)) if isinstance(path, ClipFrame) else digest(path)


@lru_cache(maxsize=16)
def _clip_digest(path: Path, _: Stamp) -> str:
    return digest(path)


def recipe(job: Job) -> str:
    """The hash of everything but the source that determines an output: decision, settings and the version of poise."""
    settings = (__version__, job.correction, portable(job.encoding), job.format, job.depth, job.stamp)
    # pictures keep the recipe that they had before movies
    every = (*settings, *((job.movie,) if job.movie else ()), *((job.by_frame,) if job.by_frame else ()))
    return xxhash.xxh3_128(msgspec.json.encode(every, order="sorted")).hexdigest()


def range_of(job: Job) -> Range:
    """The range of an output's codes."""
    return job.encoding.range if job.encoding else "full"


def mark(job: Job) -> str | None:
    """The text stored in an output: the program, the start of its recipe, and its range; None without a stamp.

    Example:
        mark(job)  # "poise 0.1.0 correction 5f0c1b9a3d2e4f60, full range"
    """
    return f"poise {__version__} correction {recipe(job)[:16]}, {range_of(job)} range" if job.stamp else None
