"""The kinds of step that a chain is made of: a function of each channel, a linear map, a clamp, and what a file holds.

Each is a pure float64 function of (..., 3); the engine bakes the very same objects into tables and matrices.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PerChannel:
    """A function that treats each channel by itself, rising in each; it takes and gives (..., 3).

    `alike` says that it is the same for all channels, and so takes (..., 1) too.
    """

    function: Callable[[Array], Array]
    alike: bool = False

    def __call__(self, rgb: Array) -> Array:
        return self.function(rgb)


@dataclass(frozen=True, eq=False)
class Linear:
    """matrix (3, 3) times each pixel, plus offset (3)."""

    matrix: Array
    offset: Array

    def __call__(self, rgb: Array) -> Array:
        if self.diagonal:  # no channel that is infinite makes the others NaN
            return rgb * self.matrix.diagonal() + self.offset
        return rgb @ self.matrix.T + self.offset

    @property
    def diagonal(self) -> bool:
        """Whether no channel reaches into another."""
        return not np.any(self.matrix - np.diag(self.matrix.diagonal()))


@dataclass(frozen=True)
class Clamp:
    """Values held to 0..1 (ASC CDL v1.2, clamping style)."""

    def __call__(self, rgb: Array) -> Array:
        return np.clip(rgb, 0.0, 1.0)


@dataclass(frozen=True, eq=False)
class FromFile:
    """What a file prescribes, (..., 3) to (..., 3).

    Attributes:
        transform: the same for OpenColorIO.
        separable: whether no channel reaches into another.
    """

    function: Callable[[Array], Array]
    transform: Any
    separable: bool

    def __call__(self, rgb: Array) -> Array:
        return self.function(rgb)


Stage = PerChannel | Linear | Clamp | FromFile


def diagonal(slope: npt.ArrayLike, offset: npt.ArrayLike) -> Linear:
    """Slope and offset of each channel as a linear stage."""
    return Linear(np.diag(np.broadcast_to(np.asarray(slope, np.float64), 3)), np.broadcast_to(offset, 3).astype(float))
