"""Folding: the stages of a chain become a short list of tables, linear maps and clamps.

Integer and half pictures have at most 65536 codes, so all stages before channels are first mixed become one exact
table. Later functions get values between codes; each becomes a table over a domain, and its error there is measured.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, takewhile

import numpy as np
import numpy.typing as npt

from poise.chain.stage import Array, Clamp, FromFile, Linear, PerChannel, Stage
from poise.frames.frame import Depth

KEPT = 8
"""Tables that are kept, of at most 3 MB each: a frame's own correction often changes some numbers alone."""

Interval = tuple[float, float] | None

EVERY_CODE, MOST_ENTRIES = 65536, 2**18
"""Entries of a uniform table that is exact at 16 bits, and the most that a float picture gets. A table with fewer than
the first is for a proxy."""

ROUGH_TOLERANCE = 2e-3
"""The error allowed in a uniform table for a proxy, in code value."""

FINE_TOLERANCE = 2e-7
"""The error allowed in a table for float pictures, in code value."""

CHECKED = 256
"""How many intervals from the dark end are measured for their interpolation error; of the rest, every 64th is."""

HALF_PEAK = 65504.0
DARK_SCALE, EVEN = 256.0, 16.0
"""The scale of a spread table, and the value up to which it is linear; see `_spread`."""


@dataclass(frozen=True, eq=False)
class Table:
    """A table for each channel: (entries, 3) float32, over 0..1, or over all half floats if `half`."""

    values: npt.NDArray[np.float32]
    half: bool = False


Operation = Table | Linear | Clamp | FromFile


def fold(stages: list[Stage], depth: Depth, entries: int, tolerance: float, held: Interval = None) -> list[Operation]:
    """Fold stages into operations with the same result.

    Args:
        depth: the depth of the input.
        entries: the largest size of a uniform table; below `EVERY_CODE`, the first table tried is accepted.
        tolerance: the error allowed in a table, in code value.
        held: the interval that the values of a float picture are known to be in; None for any values.

    Example:
        >>> [type(one).__name__ for one in fold([Clamp(), PerChannel(np.sqrt, alike=True)], Depth.U8, 65536, 1e-6)]
        ['Table']
    """
    operations: list[Operation] = []
    bounds: Interval = held if depth.is_float else (0.0, 1.0)
    rest = stages
    if depth is not Depth.FLOAT:
        count = next((i for i, stage in enumerate(stages) if _mixes(stage)), len(stages))
        prefix, rest = stages[:count], stages[count:]
        if prefix:
            table, bounds = _exact(tuple(prefix), depth, entries, held)
            operations.append(table)
    groups = _groups(rest)
    while groups:
        run = _clamped(groups) if bounds and entries >= EVERY_CODE else []  # for a proxy it takes longer than it saves
        baked = _clamped_table(tuple(chain.from_iterable(run)), bounds, entries, tolerance) if bounds and run else ()
        if baked:
            operations += baked
            bounds, groups = (0.0, 1.0), groups[len(run) :]
            continue
        group, *groups = groups
        first = group[0]
        if isinstance(first, PerChannel):
            operations += _bake(tuple(group), bounds, entries, tolerance)
        elif isinstance(first, Linear):
            operations.append(_merged(group))
        else:
            operations.append(first)
        if groups:
            bounds = _widened(_through(group, bounds))
    return _joined(operations)


def _clamped(groups: list[list[Stage]]) -> list[list[Stage]]:
    """The groups from a function of each channel on, in which no channel depends on another; none without a clamp."""
    run = list(takewhile(lambda group: not any(_mixes(stage) for stage in group), groups))
    clamped = any(isinstance(group[0], Clamp) for group in run)
    return run if clamped and isinstance(run[0][0], PerChannel) else []


@lru_cache(maxsize=KEPT)
def _clamped_table(
    stages: tuple[Stage, ...], bounds: tuple[float, float], entries: int, tolerance: float
) -> tuple[Operation, ...]:
    """One table for functions of each channel with a clamp among them, over the inputs that the clamp lets through.

    A uniform table clamps its input, so the clamp needs no operation of its own, and its corners no entries.

    Returns:
        Nothing where what comes before the clamp does not rise throughout, what comes after it leaves 0..1, or the
        table errs by more than the tolerance.
    """
    rising = tuple(takewhile(lambda stage: not isinstance(stage, Clamp), stages))
    if (np.diff(_evaluate(rising, np.linspace(*bounds, 1024)), axis=0) < 0).any():
        return ()
    low, high = _reached(rising, bounds)
    if (low >= high).any():
        return ()
    even = np.linspace(0.0, 1.0, entries)
    same = not (np.ptp(low) or np.ptp(high))
    domain = low[0] + (high[0] - low[0]) * even if same else low + (high - low) * even[:, None]
    values = _evaluate(stages, domain)
    if _error(stages, domain, values) > tolerance or values.min() < 0 or values.max() > 1:
        return ()
    return Linear(np.diag(1 / (high - low)), -low / (high - low)), Table(_single(values))


def _reached(stages: Sequence[Stage], bounds: tuple[float, float]) -> tuple[Array, Array]:
    """The last inputs, (3,), up to which rising functions give 0 at most, and the first from which they give 1.

    Where they never do, the end of the bounds.
    """
    below, above = (np.full((2, 3), end) for end in bounds)
    for _ in range(40):
        middle = (below + above) / 2
        less = _evaluate(stages, middle) < [[0.0], [1.0]]
        below, above = np.where(less, middle, below), np.where(less, above, middle)
    return below[0], above[1]


@lru_cache(maxsize=KEPT)
def _exact(stages: tuple[Stage, ...], depth: Depth, entries: int, held: Interval) -> tuple[Table, Interval]:
    """The table over all codes of a depth, and the interval of its values; None for halves of any value."""
    half = depth is Depth.HALF
    domain = half_values() if half else np.linspace(0.0, 1.0, min(entries, depth.maximum + 1))
    table = Table(_single(_evaluate(stages, domain)), half)
    if half and held is None:
        return table, None
    reached = table.values[(domain >= held[0]) & (domain <= held[1])] if half and held else table.values
    return table, (float(reached.min()), float(reached.max()))


def _widened(bounds: Interval) -> Interval:
    """An interval widened at either end by less than a quarter stop, so that a slightly different gain has the same."""
    if bounds is None or not np.isfinite(bounds).all():
        return bounds
    low, high = bounds
    return _rounded(low, up=low < 0), _rounded(high, up=high > 0)


def _rounded(value: float, up: bool) -> float:
    """A value whose size is rounded to a quarter of a stop, up or down; 0 stays."""
    size = abs(value)
    quarters = np.log2(size) * 4 if size > 1e-12 else -np.inf
    return float(np.copysign(np.exp2((np.ceil(quarters) if up else np.floor(quarters)) / 4), value))


def _mixes(stage: Stage) -> bool:
    """Whether a channel depends on another."""
    return (isinstance(stage, Linear) and not stage.diagonal) or (isinstance(stage, FromFile) and not stage.separable)


def half_values() -> Array:
    """All half floats in the order of their bits, (65536,) float64; NaN as 0, infinities as the largest number."""
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


def _evaluate(stages: Sequence[Stage], domain: Array) -> Array:
    """The results, (n, 3), for inputs that are (n,), the same for all channels, or (n, 3)."""
    values = domain if domain.ndim == 2 else domain[:, None]
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


@lru_cache(maxsize=KEPT)
def _bake(group: tuple[Stage, ...], bounds: Interval, entries: int, tolerance: float) -> tuple[Operation, ...]:
    """The tables of functions of each channel, kept for the next correction with the same functions."""
    return tuple(_baked(list(group), bounds, entries, tolerance))


def _baked(group: list[Stage], bounds: Interval, entries: int, tolerance: float) -> list[Operation]:
    if bounds is not None and bounds[1] > bounds[0]:
        low, high = bounds
        fine = entries >= EVERY_CODE and tolerance <= FINE_TOLERANCE
        for count in (entries, MOST_ENTRIES) if fine else (entries,):
            domain = np.linspace(low, high, count)
            values = _evaluate(group, domain)
            if _error(group, domain, values, fine) <= (tolerance if entries >= EVERY_CODE else ROUGH_TOLERANCE):
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
    """The error of a table over the half floats, and the table: the first within tolerance, else the best.

    Half floats are densest about 0. Three scales are tried: as they are; with the dark spread out; and shifted by the
    middle of 0..1, which makes them denser over the whole range.
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
        error = _error_in_range(group, domain, values)
        if error < 0.9 * best[0]:
            best = error, [*into, *_tabled(values)]
        if error <= tolerance:
            break
    return best


def _spread(values: Array) -> Array:
    """Values scaled by `DARK_SCALE`, and compressed to their log above `EVEN`, so that all fit into half floats."""
    size = np.abs(values)
    bright = np.sign(values) * EVEN * (1 + np.log(np.maximum(size, EVEN) / EVEN))
    return DARK_SCALE * np.where(size <= EVEN, values, bright)


def _gathered(spread: Array) -> Array:
    """The inverse of `_spread`."""
    values = spread / DARK_SCALE
    size = np.abs(values)
    bright = np.sign(values) * EVEN * np.exp(np.maximum(size, EVEN) / EVEN - 1)
    return np.where(size <= EVEN, values, bright)


def _tabled(values: Array) -> list[Operation]:
    return [Table(_single(values), half=True)]


def _single(values: Array) -> npt.NDArray[np.float32]:
    """The values in float32; infinite beyond its range."""
    with np.errstate(over="ignore"):
        return values.astype(np.float32)


def _error_in_range(group: list[Stage], domain: Array, values: Array) -> float:
    """The error over 0..1."""
    within = np.flatnonzero((domain >= 0) & (domain <= 1))
    order = within[np.argsort(domain[within])]
    return _error(group, domain[order], values[order])


def _error(group: Sequence[Stage], domain: Array, values: Array, every: bool = False) -> float:
    """The largest error of a table between its entries, at some of them or at every one."""
    last = len(domain) - 1
    at = np.arange(last) if every else np.unique([*range(min(CHECKED, last)), *range(0, last, 64)])
    middle = _evaluate(group, (domain[at] + domain[at + 1]) / 2)
    return float(np.abs(middle - (values[at] + values[at + 1]) / 2).max())


def _joined(operations: list[Operation]) -> list[Operation]:
    joined: list[Operation] = []
    for operation in operations:
        last = joined[-1] if joined else None
        if isinstance(operation, Linear) and isinstance(last, Linear):
            joined[-1] = _merged([last, operation])
        elif isinstance(operation, Table) and not operation.half and isinstance(last, Clamp):
            joined[-1] = operation  # a uniform table clamps its input to 0..1
        else:
            joined.append(operation)
    return joined
