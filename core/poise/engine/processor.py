"""OpenColorIO's CPU processor for a list of operations, at the bit depths of files."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import PyOpenColorIO as ocio

from poise.chain.stage import Clamp, FromFile, Linear
from poise.engine.fold import Operation, Table
from poise.frames.frame import Depth, Pixels

Planes = npt.NDArray[np.float32]
"""One plane per channel, (3, ...)."""

LINE = 1024
"""OpenColorIO processes a picture line by line; a line of this many pixels fits into the processor's cache."""

BIT_DEPTHS = {
    Depth.U8: ocio.BIT_DEPTH_UINT8,
    Depth.U10: ocio.BIT_DEPTH_UINT10,
    Depth.U12: ocio.BIT_DEPTH_UINT12,
    Depth.U14: ocio.BIT_DEPTH_UINT16,
    Depth.U16: ocio.BIT_DEPTH_UINT16,
    Depth.HALF: ocio.BIT_DEPTH_F16,
    Depth.FLOAT: ocio.BIT_DEPTH_F32,
}
"""OpenColorIO has no 14-bit depth: such codes are passed as 16-bit, and `build` scales them."""
_SIXTEEN_OF_14 = Depth.U16.maximum / Depth.U14.maximum


@lru_cache(maxsize=1)
def raw_config() -> ocio.Config:
    """OpenColorIO's configuration without colour spaces or processor cache."""
    config = ocio.Config.CreateRaw()
    # the cache confuses two tables of the same size and range
    config.setProcessorCacheFlags(ocio.PROCESSOR_CACHE_OFF)
    return config


@dataclass(frozen=True)
class ToFloat:
    """Compiled operations with a float result; a clamp at the end runs in numpy, which is faster at it."""

    processor: ocio.CPUProcessor
    depth: Depth
    clamp: bool

    @classmethod
    def of(cls, operations: list[Operation], depth: Depth) -> "ToFloat":
        """Compile operations on pictures of a depth."""
        clamp = bool(operations) and isinstance(operations[-1], Clamp)
        return cls(build(operations[:-1] if clamp else operations, depth, Depth.FLOAT), depth, clamp)

    def read(self, source: Pixels, result: Planes) -> None:
        """Process (height, width, 3 or 4), contiguous, into (3, height, width), each plane contiguous."""
        self.processor.apply(_described(source, self.depth), _planes(result))
        self._end(result)

    def through(self, values: Planes) -> Planes:
        """Process float (3, pixels) into a new array of the same shape."""
        count = values.shape[1]
        result = np.zeros((3, -(-count // LINE), LINE), np.float32)
        pixels: Planes = result.reshape(3, -1)[:, :count]
        pixels[:] = values
        self.processor.apply(_planes(result))
        self._end(pixels)
        return pixels

    def _end(self, result: Planes) -> None:
        if self.clamp:
            np.clip(result, 0, 1, out=result)


def build(operations: list[Operation], depth: Depth, out_depth: Depth) -> ocio.CPUProcessor:
    """OpenColorIO's processor from `depth` to `out_depth`; several threads may use it at once."""
    group = ocio.GroupTransform()
    if depth is Depth.U14:
        group.appendTransform(_scale(_SIXTEEN_OF_14))
    for operation in operations:
        group.appendTransform(transform(operation))
    if out_depth is Depth.U14:
        group.appendTransform(ocio.RangeTransform(0.0, 1.0, 0.0, 1.0))
        group.appendTransform(_scale(1 / _SIXTEEN_OF_14))
    processor = raw_config().getProcessor(group)
    return processor.getOptimizedCPUProcessor(BIT_DEPTHS[depth], BIT_DEPTHS[out_depth], ocio.OPTIMIZATION_LOSSLESS)


def run(processor: ocio.CPUProcessor, source: Pixels, depth: Depth, result: Pixels, out_depth: Depth) -> None:
    """Run a processor from one contiguous array, (height, width, 3 or 4), into another; releases the interpreter."""
    processor.apply(_described(source, depth), _described(result, out_depth))


def transform(operation: Operation) -> ocio.Transform:
    """An operation as an OpenColorIO transform."""
    if isinstance(operation, Table):
        table = ocio.Lut1DTransform(length=len(operation.values), inputHalfDomain=operation.half)
        table.setData(np.ascontiguousarray(operation.values).ravel())
        return table
    if isinstance(operation, Linear):
        matrix = np.eye(4)
        matrix[:3, :3] = operation.matrix
        return ocio.MatrixTransform(matrix.ravel().tolist(), [*operation.offset.tolist(), 0.0])
    if isinstance(operation, FromFile):
        return operation.transform
    assert isinstance(operation, Clamp)
    return ocio.RangeTransform(0.0, 1.0, 0.0, 1.0)


def _scale(factor: float) -> ocio.Transform:
    return ocio.MatrixTransform((np.eye(4) * factor).ravel().tolist(), [0.0] * 4)


def _described(pixels: Pixels, depth: Depth) -> ocio.PackedImageDesc:
    height, width, channels = pixels.shape
    size = pixels.itemsize
    return ocio.PackedImageDesc(
        pixels, width, height, channels, BIT_DEPTHS[depth], size, size * channels, size * channels * width
    )


def _planes(planes: Planes) -> ocio.PlanarImageDesc:
    width, size = planes.shape[-1], planes.itemsize
    return ocio.PlanarImageDesc(*planes, width, planes[0].size // width, ocio.BIT_DEPTH_F32, size, size * width)
