"""The mattes of a correction over a picture, in float32: only pixels that a matte takes are written.

Work code is made once in float; each matte is keyed on the result of those before it, and what it takes goes through
its own compiled correction. Strips of rows go to threads, and are the same strips whatever the number of threads.
"""

from collections.abc import Callable
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.chain.matte import radius
from poise.colour.luma import Weights
from poise.correction.model import Matte
from poise.engine.gaussian import blur
from poise.engine.keying import key
from poise.engine.median import denoise
from poise.engine.processor import Into
from poise.frames.frame import Depth, Pixels

Plane = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]

ROWS = 32
"""Rows of a strip: few enough for a processor's cache."""


@dataclass(frozen=True)
class Cut:
    """One matte and its compiled correction, float work code to float work code."""

    matte: Matte
    inside: Into


@dataclass(frozen=True)
class Keyed:
    """The mattes of one correction, compiled.

    Attributes:
        out_depth: of the picture that is written to.
        work: source to float work code, up to saturation.
        cuts: in order.
        exit: float work code to float delivery code; None where they are the same.
        by: the luma weights of work code.
    """

    out_depth: Depth
    work: Into
    cuts: tuple[Cut, ...]
    exit: Into | None
    by: Weights

    @property
    def coloured(self) -> str | None:
        """The name of the first matte that treats channels differently."""
        for cut in self.cuts:
            balance = cut.matte.inside.balance
            triples = (balance.slope, balance.offset, balance.power)
            if cut.matte.inside.turn or any(len(set(triple)) > 1 for triple in triples):
                return cut.matte.name
        return None

    def apply(self, source: Pixels, result: Pixels, threads: int) -> None:
        """Writes what the mattes change into the result that was made without them.

        Args:
            source, result: (height, width, 3 or 4), contiguous, of `work.depth` and `out_depth`.
        """
        with ThreadPoolExecutor(max(threads, 1)) as pool:
            picture = Picture.of(source, self, pool)
            taken = np.zeros(picture.work.shape[:2], bool)
            for cut in self.cuts:
                taken |= picture.cut(cut, self.by, pool)
            strips(lambda rows: self._write(picture.work[rows], taken[rows], result[rows]), len(taken), pool)

    def matte(self, source: Pixels, last: Matte, threads: int) -> Plane:
        """The matte that `last` selects after all of `cuts`, (height, width), 0..1."""
        with ThreadPoolExecutor(max(threads, 1)) as pool:
            picture = Picture.of(source, self, pool)
            for cut in self.cuts:
                picture.cut(cut, self.by, pool)
            return picture.mask(last, self.by, pool)

    def _write(self, work: Plane, taken: Mask, result: Pixels) -> None:
        at = _where(taken)
        if at is None:
            return
        values = _whole(work)[at].view(np.float32).reshape(-1, 3)
        if self.exit is not None:
            values = _through(self.exit, values)
        codes = _codes(values, self.out_depth)
        _put(result, at, taken, codes)


@dataclass(frozen=True)
class Picture:
    """A picture under way: work code, (height, width, 3) float32, which mattes change; and its lost pixels, if any.

    Lost pixels hold NaN or an infinity; they are 0 in every matte.
    """

    work: Plane
    lost: Mask | None

    @classmethod
    def of(cls, source: Pixels, keyed: Keyed, pool: Executor) -> "Picture":
        work = np.empty((*source.shape[:2], 3), np.float32)
        strips(lambda rows: keyed.work.run(source[rows], work[rows]), len(work), pool)
        lost = np.asarray(~np.isfinite(source[..., :3]).all(axis=-1)) if keyed.work.depth.is_float else None
        return cls(work, lost if lost is not None and lost.any() else None)

    def mask(self, matte: Matte, by: Weights, pool: Executor) -> Plane:
        """The finished matte, (height, width), 0..1."""
        height, width = self.work.shape[:2]
        values = np.empty((height, width), np.float32)

        def keyed(rows: slice) -> None:
            found = key(self.work[rows], matte, by)
            values[rows] = 1 - found if matte.invert else found
            self._leave_out(values, rows)

        strips(keyed, height, pool)
        values = blur(denoise(values, radius(matte.denoise, height), pool), matte.blur * height, pool)
        self._leave_out(values, slice(None))
        return values

    def cut(self, cut: Cut, by: Weights, pool: Executor) -> Mask:
        """Corrects what a matte takes, in `work`; returns which pixels that were."""
        mask = self.mask(cut.matte, by, pool)
        taken = mask > 0
        strips(lambda rows: _blend(self.work[rows], mask[rows], taken[rows], cut.inside), len(mask), pool)
        return taken

    def _leave_out(self, values: Plane, rows: slice) -> None:
        if self.lost is not None:
            values[rows][self.lost[rows]] = 0


def strips(work: Callable[[slice], None], height: int, pool: Executor) -> None:
    """Does the work for every strip of rows."""
    for _ in pool.map(work, (slice(top, top + ROWS) for top in range(0, height, ROWS))):
        pass


def _where(taken: Mask) -> npt.NDArray[np.intp] | slice | None:
    """The places that are taken, all of them when gathering would take longer, None when there are none."""
    count = np.count_nonzero(taken)
    if not count:
        return None
    return np.flatnonzero(taken) if 2 * count < taken.size else slice(None)


def _blend(work: Plane, mask: Plane, taken: Mask, inside: Into) -> None:
    at = _where(taken)
    if at is None:
        return
    values = _whole(work)[at].view(np.float32).reshape(-1, 3)
    change = _through(inside, values)
    share = mask.ravel()[at]
    with np.errstate(invalid="ignore"):  # of pixels that are not taken
        change -= values
        for channel in change.T:  # three long rows are quicker than many rows of three
            channel *= share
        change += values
    _put(work, at, taken, change)


def _whole(pixels: Pixels) -> npt.NDArray[np.void]:
    """Each pixel's three colours as one value, (pixels,), a view: copied much faster than three."""
    size, step = 3 * pixels.itemsize, pixels.shape[-1] * pixels.itemsize
    kind = np.dtype({"names": ["rgb"], "formats": [f"V{size}"], "offsets": [0], "itemsize": step})
    return pixels.reshape(-1, pixels.shape[-1]).view(kind)["rgb"][:, 0]


def _put(pixels: Pixels, at: npt.NDArray[np.intp] | slice, taken: Mask, values: Pixels) -> None:
    """Replaces the pixels that are taken; `values` are those at `at`."""
    if isinstance(at, slice):
        np.copyto(_whole(pixels), _whole(values), where=taken.ravel())
    else:
        _whole(pixels)[at] = _whole(values)


def _through(into: Into, values: Plane) -> Plane:
    result = np.empty(values.shape, np.float32)
    into.run(np.ascontiguousarray(values)[None], result[None])
    return result


def _codes(values: Plane, depth: Depth) -> Pixels:
    """floor(v (2^n - 1) + 0.5), clamped; float as it is."""
    with np.errstate(invalid="ignore", over="ignore"):
        if depth.is_float:
            return values.astype(depth.dtype)
        codes = values * np.float32(depth.maximum)
        codes += np.float32(0.5)
        return np.clip(codes, 0, depth.maximum, out=codes).astype(depth.dtype)
