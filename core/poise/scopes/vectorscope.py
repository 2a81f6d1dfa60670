"""The vectorscope: how often each colour occurs on the Cb/Cr plane, with its targets and the skin line."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.colour import luma as y
from poise.scopes.signal import Picture, Signal, split
from poise.scopes.waveform import Counts

SKIN_ANGLE = 123.0
"""Degrees; common practice, no source. Measured skin reflectances are at 120.5 to 122.4 on BT.709 Cb/Cr; this is not
the I axis."""

BARS = {
    "red": (1.0, 0.0, 0.0),
    "yellow": (1.0, 1.0, 0.0),
    "green": (0.0, 1.0, 0.0),
    "cyan": (0.0, 1.0, 1.0),
    "blue": (0.0, 0.0, 1.0),
    "magenta": (1.0, 0.0, 1.0),
}
"""The coloured bars at full amplitude, R'G'B'."""

EDGE = 0.5
"""Cb and Cr of the fullest blue and red, the edge of the plane."""
_NUDGE = 1e-4
"""In cells; added so that neutral is in the cell at size // 2 despite float32 noise."""


@dataclass(frozen=True)
class Target:
    """The place of a colour bar: Cb and Cr -0.5..0.5, angle in degrees."""

    name: str
    cb: float
    cr: float

    @property
    def angle(self) -> float:
        return float(y.hue(self.cb, self.cr))


def targets(amplitude: float = 0.75, primaries: str = "ITU-R BT.709") -> tuple[Target, ...]:
    """The targets of the six colour bars (SMPTE RP 219) on the Cb/Cr plane of the primaries.

    Args:
        amplitude: 0..1; 75 % bars are the usual ones.
        primaries: by the name that colour-science registers; decides the luma weights.

    Example:
        >>> [(t.name, round(t.angle)) for t in targets()][:2]
        [('red', 103), ('yellow', 175)]
    """
    bars = y.to_ycbcr(amplitude * np.array(list(BARS.values())), y.weights(primaries))
    return tuple(Target(name, float(cb), float(cr)) for name, (_, cb, cr) in zip(BARS, bars, strict=True))


def cell_of(cb: float, cr: float, size: int) -> tuple[int, int]:
    """The (row, column) of a colour in a vectorscope of size x size cells.

    Example:
        >>> cell_of(0, 0, 9), cell_of(-0.5, 0.5, 9)
        ((4, 4), (0, 0))
    """
    row, column = _places(np.array([-cr, cb], np.float64), size).tolist()
    return row, column


def vectorscope(
    picture: Picture | Signal, size: int, maximum: int | None = None, primaries: str = "ITU-R BT.709", gain: int = 1
) -> Counts:
    """Count colours on the Cb/Cr plane.

    Args:
        picture, maximum, primaries: as in `split`.
        size: cells per side, from -0.5 at the left and bottom edge to 0.5 at the right and top; neutral is in the cell
            (size // 2, size // 2). Colours outside are counted in the edge cells.
        gain: enlarges the plane about neutral, so that 0.5 / gain is at the edge; with one above 1, colours outside are
            not counted.

    Returns:
        (size, size) pixel counts, Cb to the right, Cr upwards.

    Example:
        >>> int(vectorscope(np.full((3, 2, 1), 0.5), 9)[4, 4])
        6
    """
    cb, cr = split(picture, maximum, primaries).differences()
    if gain != 1:
        cb, cr = cb * gain, cr * gain
        inside = (np.abs(cb) <= EDGE) & (np.abs(cr) <= EDGE)
        cb, cr = cb[inside], cr[inside]
    cells = _places(np.negative(cr, out=cr), size)
    cells *= size
    cells += _places(cb, size)
    return np.bincount(cells, minlength=size * size).reshape(size, size)


def _places(values: npt.NDArray[np.floating[Any]], size: int) -> npt.NDArray[np.int32]:
    place = values * size
    place += 0.5 * size + _NUDGE
    np.clip(place, 0, size - 1, out=place)
    return place.astype(np.int32)
