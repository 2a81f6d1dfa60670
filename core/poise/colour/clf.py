"""Files in the Common LUT Format (CLF): found in a shot's folder, validated, and run by OpenColorIO."""

import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
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
"""A larger difference between the channels of a grey, as a share of the largest, means that greys don't stay grey."""


@dataclass(frozen=True, eq=False)
class Transform:
    """The transform in a CLF file.

    Attributes:
        group: OpenColorIO's operations.
        separable: whether every output channel depends on its own input channel only.
        coloured: whether some grey doesn't stay grey.
        processor: applies the operations on the CPU.
    """

    group: ocio.GroupTransform
    separable: bool
    coloured: bool
    processor: ocio.CPUProcessor

    def __call__(self, rgb: Array) -> Array:
        """Apply the transform to values of 0..1 full scale, (..., 3); computed in float32 by OpenColorIO."""
        values = np.array(rgb, np.float32, order="C")
        if values.size:
            self.processor.applyRGB(values)
        return values.astype(np.float64)


def locate(name: str, folder: Path) -> tuple[str, str]:
    """Find a CLF file in a folder; returns its real path and the XXH3 hash of its content.

    Args:
        name: a path relative to the folder.

    Raises:
        PoiseError: the file is missing or unreadable, or the path leads out of the folder.

    Example:
        locate("camera_a.clf", Path("day"))
    """
    inside = PurePath(name)
    if inside.is_absolute() or ".." in inside.parts or "\0" in name:
        raise PoiseError("names a place outside the shot's folder; copy the file there and give only its name")
    real, root = os.path.realpath(folder / inside), os.path.realpath(folder)
    if os.path.commonpath([real, root]) != root:
        raise PoiseError("is a link that leads out of the shot's folder; put the file itself there")
    try:
        there = os.stat(real)
        return real, _digest(real, there.st_size, there.st_mtime_ns, there.st_ctime_ns)
    except FileNotFoundError:
        raise PoiseError("is not in the shot's folder; put it there, or clear it with poise reset --source") from None
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
    """The transform in a file whose content has a given hash.

    Args:
        path, digest: as `locate` returns them.

    Raises:
        PoiseError: the file can't be read, has changed since, or is refused as by `parse`.
    """
    try:
        content = _content(path)
    except OSError as fault:
        raise PoiseError(f"can't be read: {(fault.strerror or str(fault)).lower()}") from None
    if xxhash.xxh3_128_hexdigest(content) != digest:
        raise PoiseError("changed while it was read; try again when it is complete")
    return parse(content)


def parse(content: bytes) -> Transform:
    """The transform in the content of a CLF file.

    Raises:
        PoiseError: the content is not valid CLF (see `validate`), OpenColorIO rejects it, or it yields values that are
            not finite.
    """
    validate(content)
    config = ocio.Config.CreateRaw()
    config.setProcessorCacheFlags(ocio.PROCESSOR_CACHE_OFF)
    # OpenColorIO reads only files and caches them by path; a temporary file makes sure that it reads what was validated
    with tempfile.NamedTemporaryFile(prefix="poise-", suffix=".clf") as file:
        file.write(content.replace(b"><", b">\n<"))  # it rejects a file that begins with a long line
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
    transform = Transform(group, not processor.hasChannelCrosstalk(), False, cpu)
    if not all(np.isfinite(numbers).all() for numbers in _numbers(group)):
        raise PoiseError("its tables hold values that are not finite; export it again")
    grey = transform(np.repeat(np.linspace(0, 1, 257)[:, None], 3, axis=1))
    if not np.isfinite(grey).all():
        raise PoiseError("it turns greys between 0 and 1 into values that are not finite; export it again")
    coloured = np.ptp(grey, axis=1) > SAME * np.maximum(np.abs(grey).max(axis=1), 1)
    return replace(transform, coloured=bool(coloured.any()))


def _numbers(group: ocio.GroupTransform) -> Iterator[npt.NDArray[np.float32]]:
    """The values of its tables, except those indexed by half floats, which rightly hold infinities."""
    for transform in group:
        if isinstance(transform, ocio.Lut3DTransform) or (
            isinstance(transform, ocio.Lut1DTransform) and not transform.getInputHalfDomain()
        ):
            yield transform.getData()


def _reason(message: str, path: str) -> str:
    """OpenColorIO's message without its preamble and the name of the temporary file."""
    for mark in ("failed with:", "with this error:", "Error is:"):
        message = message.rpartition(mark)[2]
    return one_line(" ".join(message.replace(path, "it").split())[:200]).rstrip(". ") + "; export it again"
