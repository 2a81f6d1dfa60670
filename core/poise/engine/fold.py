"""Folding: a chain's stages become the shortest row of tables, linear maps and clamps.

Integer and half pictures have at most 65536 codes, so everything before the first mixing of channels is one exact
table. Later functions meet values between the codes; each is baked on a domain whose error was measured.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.chain.stage import Array, Clamp, FromFile, Linear, PerChannel, Stage
from poise.frames.frame import Depth

Interval = tuple[float, float] | None

EVERY_CODE = 65536
"""Entries of a uniform table that loses nothing at 16 bits. With fewer it is for a proxy."""

ROUGH_TOLERANCE = 2e-3
"""The error that a proxy's uniform table may have: light of a log code reaches far, and lies thickest in the dark."""

FINE_TOLERANCE = 2e-7
"""The error of a baked function that float pictures are owed."""

CHECKED = 256
"""Intervals at the dark end whose interpolation error is measured one by one; of the rest, every 64th."""

HALF_PEAK = 65504.0
DARK_SCALE, EVEN = 256.0, 16.0
"""How much further into the dark a spread table reaches, and up to where it is even; see `_spread`."""


@dataclass(frozen=True, eq=False)
class Table:
    """A function of each channel: (entries, 3) float32, over 0..1, or over every half value when `half`."""

    values: npt.NDArray[np.float32]
    half: bool = False


Operation = Table | Linear | Clamp | FromFile


def fold(stages: list[Stage], depth: Depth, entries: int, tolerance: float, held: Interval = None) -> list[Operation]:
    """The row of operations that does what the stages do.

    Args:
        depth: of the picture that comes in.
        entries: most entries of a uniform table; with fewer than `EVERY_CODE`, the first table will do.
        tolerance: the error of a baked function that is good enough, in code value.
        held: what the values of a float picture are known to lie in; None if they may be anything.
    """
    operations: list[Operation] = []
    bounds: Interval = held if depth.is_float else (0.0, 1.0)
    rest = stages
    if depth is not Depth.FLOAT:
        count = next((i for i, stage in enumerate(stages) if _mixes(stage)), len(stages))
        prefix, rest = stages[:count], stages[count:]
        if prefix:
            half = depth is Depth.HALF
            domain = half_values() if half else np.linspace(0.0, 1.0, min(entries, depth.maximum + 1))
            table = Table(_single(_evaluate(prefix, domain)), half)
            operations.append(table)
            bounds = None if half else (float(table.values.min()), float(table.values.max()))
    groups = _groups(rest)
    for group in groups:
        first = group[0]
        if isinstance(first, PerChannel):
            operations += _bake(group, bounds, entries, tolerance)
        elif isinstance(first, Linear):
            operations.append(_merged(group))
        else:
            operations.append(first)
        if group is not groups[-1]:
            bounds = _through(group, bounds)
    return _joined(operations)


def _mixes(stage: Stage) -> bool:
    """Whether a channel reaches into another."""
    return (isinstance(stage, Linear) and not stage.diagonal) or (isinstance(stage, FromFile) and not stage.separable)


def half_values() -> Array:
    """The 65536 half-float numbers in the order of their bits; NaN as 0, infinities as the largest number."""
    values = np.arange(65536, dtype=np.uint16).view(np.float16).astype(np.float64)
    return np.nan_to_num(values, nan=0.0, posinf=HALF_PEAK, neginf=-HALF_PEAK)


def _groups(stages: list[Stage]) -> list[list[Stage]]:
    groups: list[list[Stage]] = []
    for stage in stages:
        if groups and type(groups[-1][0]) is type(stage):
            groups[-1].append(stage)
        else:
            groups.append([stage])
    return groups


def _evaluate(stages: list[Stage], domain: Array) -> Array:
    values = domain[:, None]
    for stage in stages:
        alike = isinstance(stage, Clamp) or (isinstance(stage, PerChannel) and stage.alike)
        values = stage(values if alike else np.broadcast_to(values, (len(values), 3)))
    return np.ascontiguousarray(np.broadcast_to(values, (len(values), 3)))


def _merged(group: list[Stage]) -> Linear:
    matrix, offset = np.eye(3), np.zeros(3)
    for stage in group:
        assert isinstance(stage, Linear)
        matrix, offset = stage.matrix @ matrix, stage.matrix @ offset + stage.offset
    return Linear(matrix, offset)


def _through(group: list[Stage], bounds: Interval) -> Interval:
    if isinstance(group[0], Clamp):
        low, high = bounds or (0.0, 1.0)
        return max(low, 0.0), min(high, 1.0)
    if bounds is None or isinstance(group[0], FromFile):
        return None
    corners = np.array(np.meshgrid(*[bounds] * 3)).reshape(3, -1).T.astype(np.float64)
    for stage in group:
        corners = stage(corners)
    return float(corners.min()), float(corners.max())


def _bake(group: list[Stage], bounds: Interval, entries: int, tolerance: float) -> list[Operation]:
    if bounds is not None and bounds[1] > bounds[0]:
        low, high = bounds
        domain = np.linspace(low, high, entries)
        values = _evaluate(group, domain)
        if _error(group, domain, values) <= (tolerance if entries >= EVERY_CODE else ROUGH_TOLERANCE):
            unit = high - low
            into = Linear(np.eye(3) / unit, np.full(3, -low / unit))
            return [*([] if bounds == (0.0, 1.0) else [into]), Table(values.astype(np.float32))]
    if entries < EVERY_CODE:
        return _tabled(_evaluate(group, half_values()))
    error, operations = _best_half(group, tolerance)
    if error > tolerance and len(group) > 1:
        return [operation for stage in group for operation in _best_half([stage], tolerance)[1]]
    return operations


def _best_half(group: list[Stage], tolerance: float) -> tuple[float, list[Operation]]:
    """A table over the half floats, the first that is good enough or else the one that errs least, and its error.

    Half floats are densest about 0, and reach as far on each of these scales: as they are; spread in the dark; and
    counted from the middle of the range, where they lie closer together everywhere in it.
    """
    halves = half_values()
    middle = Linear(np.eye(3), np.full(3, -0.5))
    scales: list[tuple[list[Operation], Array]] = [
        ([], halves),
        (_tabled(np.repeat(_spread(halves)[:, None], 3, axis=1)), _gathered(halves)),
        ([middle], halves + 0.5),
    ]
    best: tuple[float, list[Operation]] = (np.inf, [])
    for into, domain in scales:
        values = _evaluate(group, domain)
        error = _seen_error(group, domain, values)
        if error < 0.9 * best[0]:
            best = error, [*into, *_tabled(values)]
        if error <= tolerance:
            break
    return best


def _spread(values: Array) -> Array:
    """Values up to `EVEN` scaled by `DARK_SCALE`, and brighter ones by their log, so that all stay half floats."""
    size = np.abs(values)
    bright = np.sign(values) * EVEN * (1 + np.log(np.maximum(size, EVEN) / EVEN))
    return DARK_SCALE * np.where(size <= EVEN, values, bright)


def _gathered(spread: Array) -> Array:
    """The values that `_spread` spread."""
    values = spread / DARK_SCALE
    size = np.abs(values)
    bright = np.sign(values) * EVEN * np.exp(np.maximum(size, EVEN) / EVEN - 1)
    return np.where(size <= EVEN, values, bright)


def _tabled(values: Array) -> list[Operation]:
    return [Table(_single(values), half=True)]


def _single(values: Array) -> npt.NDArray[np.float32]:
    """In single precision, as tables are kept; what is beyond it is infinite."""
    with np.errstate(over="ignore"):
        return values.astype(np.float32)


def _seen_error(group: list[Stage], domain: Array, values: Array) -> float:
    """The error over 0..1."""
    seen = np.flatnonzero((domain >= 0) & (domain <= 1))
    order = seen[np.argsort(domain[seen])]
    return _error(group, domain[order], values[order])


def _error(group: list[Stage], domain: Array, values: Array) -> float:
    at = np.unique(np.concatenate([np.arange(min(CHECKED, len(domain) - 1)), np.arange(0, len(domain) - 1, 64)]))
    middle = _evaluate(group, (domain[at] + domain[at + 1]) / 2)
    return float(np.abs(middle - (values[at] + values[at + 1]) / 2).max())


def _joined(operations: list[Operation]) -> list[Operation]:
    joined: list[Operation] = []
    for operation in operations:
        last = joined[-1] if joined else None
        if isinstance(operation, Linear) and isinstance(last, Linear):
            joined[-1] = _merged([last, operation])
        elif isinstance(operation, Table) and not operation.half and isinstance(last, Clamp):
            joined[-1] = operation  # a uniform table holds its input to 0..1 by itself
        else:
            joined.append(operation)
    return joined
