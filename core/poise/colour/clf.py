"""A file in the Common LUT Format as a function of colour: found below a folder, looked through, run by OpenColorIO."""

import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path, PurePath

import numpy as np
import numpy.typing as npt
import PyOpenColorIO as ocio
import xxhash

from poise.colour.clf_validate import MOST_BYTES, validate
from poise.errors import PoiseError, one_line
from poise.regular_file import open_without_links

Array = npt.NDArray[np.float64]

SAME = 1e-4
"""By how much channels may differ on a grey, in light or code, before a file is said to tell channels apart."""


@dataclass(frozen=True, eq=False)
class Transform:
    """What a file prescribes.

    Attributes:
        group: for OpenColorIO.
        separable: whether no channel reaches into another.
        coloured: whether a grey doesn't stay grey.
    """

    group: ocio.GroupTransform
    separable: bool
    coloured: bool
    processor: ocio.CPUProcessor

    def __call__(self, rgb: Array) -> Array:
        """Values of 0..1 full scale, (..., 3), through it, in float32 as OpenColorIO computes."""
        values = np.array(rgb, np.float32, order="C")
        if values.size:
            self.processor.applyRGB(values)
        return values.astype(np.float64)


def found(name: str, folder: Path) -> tuple[str, str]:
    """The real path of a file below a folder, and the XXH3 hash of its content.

    Raises:
        PoiseError: it is not there, leads out of the folder, or is not a plain file of a possible size.

    Example:
        found("camera_a.clf", Path("day"))
    """
    inside = PurePath(name)
    if inside.is_absolute() or ".." in inside.parts or "\0" in name:
        raise PoiseError("names a place outside the shot's folder; copy the file there, and name it alone")
    real, root = os.path.realpath(folder / inside), os.path.realpath(folder)
    if os.path.commonpath([real, root]) != root:
        raise PoiseError("is a link that leads out of the shot's folder; put the file itself there")
    try:
        there = os.stat(real)
        return real, _digest(real, there.st_size, there.st_mtime_ns, there.st_ctime_ns)
    except FileNotFoundError:
        raise PoiseError("is not in the shot's folder; put it there, or take it out by poise reset --source") from None
    except OSError as fault:
        raise PoiseError(f"can't be read: {(fault.strerror or str(fault)).lower()}") from None


@lru_cache(maxsize=64)
def _digest(path: str, *stamp: int) -> str:
    return xxhash.xxh3_128_hexdigest(_content(path))


def _content(path: str) -> bytes:
    with open(path, "rb", opener=open_without_links) as file:
        return file.read(MOST_BYTES + 1)


@lru_cache(maxsize=8)
def load(path: str, digest: str) -> Transform:
    """The file at a path, as long as it has this hash.

    Raises:
        PoiseError: it was changed meanwhile, or is no file that can be taken.
    """
    try:
        content = _content(path)
    except OSError as fault:
        raise PoiseError(f"can't be read: {(fault.strerror or str(fault)).lower()}") from None
    if xxhash.xxh3_128_hexdigest(content) != digest:
        raise PoiseError("was changed while it was read; do it again when it is complete")
    return parse(content)


def parse(content: bytes) -> Transform:
    """A file's content as a transform.

    Raises:
        PoiseError: it holds what the standard doesn't define, too much, or what OpenColorIO can't take.
    """
    validate(content)
    config = ocio.Config.CreateRaw()
    config.setProcessorCacheFlags(ocio.PROCESSOR_CACHE_OFF)
    # OpenColorIO reads files only, and remembers them by their paths: from a file of our own, what was looked through
    # is what is read
    with tempfile.NamedTemporaryFile(prefix="poise-", suffix=".clf") as file:
        file.write(content.replace(b"><", b">\n<"))  # it takes no file that begins with a long line
        file.flush()
        try:
            processor = config.getProcessor(ocio.FileTransform(file.name))
            group = processor.createGroupTransform()
            wide = ocio.BIT_DEPTH_F32
            cpu = processor.getOptimizedCPUProcessor(wide, wide, ocio.OPTIMIZATION_LOSSLESS)
        except ocio.Exception as fault:
            raise PoiseError(_reason(str(fault), file.name)) from None
        finally:
            ocio.ClearAllCaches()
    made = Transform(group, not processor.hasChannelCrosstalk(), False, cpu)
    if not all(np.isfinite(numbers).all() for numbers in _numbers(group)):
        raise PoiseError("its tables hold numbers that are none; make it anew")
    grey = made(np.repeat(np.linspace(0, 1, 257)[:, None], 3, axis=1))
    if not np.isfinite(grey).all():
        raise PoiseError("it makes values that are no numbers of greys between 0 and 1; make it anew")
    apart = np.ptp(grey, axis=1) > SAME * np.maximum(np.abs(grey).max(axis=1), 1)
    return Transform(group, made.separable, bool(apart.any()), cpu)


def _numbers(group: ocio.GroupTransform) -> Iterator[npt.NDArray[np.float32]]:
    """Those of its tables, but of tables over all half floats, among which are infinities."""
    for transform in group:
        if isinstance(transform, ocio.Lut3DTransform) or (
            isinstance(transform, ocio.Lut1DTransform) and not transform.getInputHalfDomain()
        ):
            yield transform.getData()


def _reason(told: str, path: str) -> str:
    """What OpenColorIO says, without what it says about itself and its search."""
    for mark in ("failed with:", "with this error:", "Error is:"):
        told = told.rpartition(mark)[2]
    return one_line(" ".join(told.replace(path, "it").split())[:200]).rstrip(". ") + "; make it anew"
