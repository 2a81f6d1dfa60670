"""The four kinds of stage in a chain: a function of each channel, a linear map, a clamp, the transform in a file.

Each is a pure float64 function of (..., 3); the engine bakes the same objects into tables and matrices.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PerChannel:
    """A rising function of each channel by itself, (..., 3) to (..., 3).

    Attributes:
        alike: whether it is the same for all channels, and so accepts (..., 1) too.
    """

    function: Callable[[Array], Array]
    alike: bool = False

    def __call__(self, rgb: Array) -> Array:
        return self.function(rgb)


@dataclass(frozen=True, eq=False)
class Linear:
    """Multiplies each pixel by a matrix, (3, 3), and adds an offset, (3,)."""

    matrix: Array
    offset: Array

    def __call__(self, rgb: Array) -> Array:
        if self.diagonal:  # so that an infinite channel doesn't turn the others into NaN
            return rgb * self.matrix.diagonal() + self.offset
        with np.errstate(invalid="ignore"):  # infinite and NaN channels may yield NaN
            return rgb @ self.matrix.T + self.offset

    @property
    def diagonal(self) -> bool:
        """Whether every output channel depends on its own input channel only."""
        return not np.any(self.matrix - np.diag(self.matrix.diagonal()))


@dataclass(frozen=True)
class Clamp:
    """Clamps values to 0..1 (ASC CDL v1.2, clamping style)."""

    def __call__(self, rgb: Array) -> Array:
        return np.clip(rgb, 0.0, 1.0)


@dataclass(frozen=True, eq=False)
class FromFile:
    """The transform in a file, (..., 3) to (..., 3).

    Attributes:
        function: applies it.
        transform: the same as an OpenColorIO transform.
        separable: whether every output channel depends on its own input channel only.
    """

    function: Callable[[Array], Array]
    transform: Any
    separable: bool

    def __call__(self, rgb: Array) -> Array:
        return self.function(rgb)


Stage = PerChannel | Linear | Clamp | FromFile


def diagonal(slope: npt.ArrayLike, offset: npt.ArrayLike) -> Linear:
    """A linear stage from the slope and offset of each channel, (3,) or one number each."""
    return Linear(np.diag(np.broadcast_to(np.asarray(slope, np.float64), 3)), np.broadcast_to(offset, 3).astype(float))
