"""Applies the mattes of a correction to a picture in float32; only pixels that a matte selects are written.

Work code is computed once in float, one plane per channel. Each matte is keyed on the result of those before it; the
pixels it selects go through its own compiled correction, and then into the result. Threads share strips of rows, which
are the same for any number of threads.
"""

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.chain.matte import radius
from poise.colour.luma import Weights
from poise.correction.model import Matte
from poise.engine.gaussian import blur
from poise.engine.key_mask import key
from poise.engine.median import denoise
from poise.engine.processor import Planes, ToFloat
from poise.engine.strips import pool_of, strips
from poise.frames.frame import Depth, Pixels

Plane = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]
Write = Callable[[slice, Mask, Planes], None]
"""Called with the rows of a strip, the mask of its changed pixels, (rows, width), and their work code, (3, pixels)."""

ROWS = 64
"""Rows of a strip: few enough for the processor's cache, enough that threads seldom wait for the interpreter."""


@dataclass(frozen=True)
class CompiledMatte:
    """One matte and its compiled correction, float work code to float work code."""

    matte: Matte
    inside: ToFloat


@dataclass(frozen=True)
class Keyed:
    """The mattes of one correction, compiled.

    Attributes:
        out_depth: the depth of the result.
        work: source code to float work code, up to saturation.
        mattes: in order.
        exit: float work code to float delivery code; None if they are the same.
        by: the luma weights of work code.
    """

    out_depth: Depth
    work: ToFloat
    mattes: tuple[CompiledMatte, ...]
    exit: ToFloat | None
    by: Weights

    @property
    def coloured(self) -> str | None:
        """The name of the first matte that treats channels differently; None if none does."""
        for compiled in self.mattes:
            inside, balance = compiled.matte.inside, compiled.matte.inside.balance
            triples = (balance.slope, balance.offset, balance.power)
            if inside.turn or any(len(set(triple)) > 1 for triple in triples):
                return compiled.matte.name
        return None

    def apply(self, source: Pixels, result: Pixels, threads: int) -> None:
        """Write the pixels that the mattes change into a result without mattes.

        Args:
            source: (height, width, 3 or 4), contiguous, of `work.depth`.
            result: the same size, of `out_depth`; written to.
        """

        def write(rows: slice, selected: Mask, values: Planes) -> None:
            codes = _codes(self.exit.through(values) if self.exit else values, self.out_depth)
            for channel, plane in enumerate(codes):
                result[rows, :, channel][selected] = plane

        with pool_of(threads) as pool:
            picture = Picture.of(source, self, pool)
            *earlier, last = self.mattes
            for matte in earlier:
                picture.correct(matte, self.by, pool, picture.keep, write)
            picture.correct(last, self.by, pool, write)

    def select(self, source: Pixels, matte: Matte, threads: int) -> "Selected":
        """The selection of a matte on the result of all `mattes`; `source` as for `apply`."""
        with pool_of(threads) as pool:
            picture = self._before(source, pool)
            keyed = picture.keyed(matte, self.by, pool)
            return Selected(picture, keyed, picture.finished(keyed, matte, pool))

    def behind(
        self, selected: "Selected", own: CompiledMatte | None, later: tuple[CompiledMatte, ...], threads: int
    ) -> Planes:
        """Work code after all mattes, (height, width, 3).

        Args:
            selected: the selection of one matte; not changed.
            own: that matte; None if it changes nothing.
            later: the mattes after it.
        """
        picture = Picture(selected.picture.work.copy(), selected.picture.lost)
        with pool_of(threads) as pool:
            if own:
                picture.blend(own, selected.mask, pool, picture.keep)
            for matte in later:
                picture.correct(matte, self.by, pool, picture.keep)
        return picture.pixels()

    def _before(self, source: Pixels, pool: Executor) -> "Picture":
        """The picture after all `mattes`."""
        picture = Picture.of(source, self, pool)
        for matte in self.mattes:
            picture.correct(matte, self.by, pool, picture.keep)
        return picture


@dataclass(frozen=True)
class Picture:
    """A picture while mattes are applied to it.

    Attributes:
        work: (3, height, width) float32 work code; changed by each matte.
        lost: (height, width), True for pixels with a NaN or infinite channel, which no matte selects; None if none has.
    """

    work: Planes
    lost: Mask | None

    @classmethod
    def of(cls, source: Pixels, keyed: Keyed, pool: Executor) -> "Picture":
        """The picture before any matte, from (height, width, 3 or 4) of `keyed.work.depth`."""
        work = np.empty((3, *source.shape[:2]), np.float32)
        strips(lambda rows: keyed.work.read(source[rows], work[:, rows]), len(source), ROWS, pool)
        lost = np.asarray(~np.isfinite(source[..., :3]).all(axis=-1)) if keyed.work.depth.is_float else None
        return cls(work, lost if lost is not None and lost.any() else None)

    def mask(self, matte: Matte, by: Weights, pool: Executor) -> Plane:
        """The finished matte, (height, width), 0..1."""
        return self.finished(self.keyed(matte, by, pool), matte, pool)

    def keyed(self, matte: Matte, by: Weights, pool: Executor) -> Plane:
        """The matte before denoise and blur."""
        height, width = self.work.shape[1:]
        values = np.empty((height, width), np.float32)

        def strip(rows: slice) -> None:
            part = values[rows]
            key(self.work[:, rows], matte, by, part)
            if matte.invert:
                np.subtract(1, part, out=part)
            self._zero_lost(values, rows)

        strips(strip, height, ROWS, pool)
        return values

    def finished(self, values: Plane, matte: Matte, pool: Executor) -> Plane:
        """A matte after denoise and blur, from the matte before them."""
        height = len(values)
        values = blur(denoise(values, radius(matte.denoise, height), pool), matte.blur * height, pool)
        self._zero_lost(values, slice(None))
        return values

    def correct(self, matte: CompiledMatte, by: Weights, pool: Executor, *writes: Write) -> None:
        """Correct the pixels that a matte selects, and call each of `writes` for every strip."""
        self.blend(matte, self.mask(matte.matte, by, pool), pool, *writes)

    def blend(self, matte: CompiledMatte, mask: Plane, pool: Executor, *writes: Write) -> None:
        """The same as `correct`, with the finished matte given."""

        def strip(rows: slice) -> None:
            selected = mask[rows] > 0
            if not selected.any():
                return
            before = np.stack([plane[rows][selected] for plane in self.work])
            values = matte.inside.through(before)
            values -= before
            values *= mask[rows][selected]
            values += before
            for write in writes:
                write(rows, selected, values)

        strips(strip, len(mask), ROWS, pool)

    def keep(self, rows: slice, selected: Mask, values: Planes) -> None:
        """A `Write` that changes work code, for the mattes that follow."""
        for plane, changed in zip(self.work, values, strict=True):
            plane[rows][selected] = changed

    def pixels(self) -> Planes:
        """The present work code, (height, width, 3); NaN in lost pixels."""
        pixels: Planes = np.ascontiguousarray(np.moveaxis(self.work, 0, -1))
        if self.lost is not None:
            pixels[self.lost] = np.nan
        return pixels

    def _zero_lost(self, values: Plane, rows: slice) -> None:
        if self.lost is not None:
            values[rows][self.lost[rows]] = 0


@dataclass(frozen=True)
class Selected:
    """The selection of one matte; it doesn't depend on the correction inside.

    Attributes:
        picture: the picture that it is keyed on.
        keyed: (height, width), 0..1, the matte before denoise and blur.
        mask: (height, width), 0..1, the finished matte.
    """

    picture: Picture
    keyed: Plane
    mask: Plane


def _codes(values: Planes, depth: Depth) -> Pixels:
    """Codes of a depth: floor(v (2^n - 1) + 0.5), clamped; float values only change their type."""
    if depth.is_float:
        with np.errstate(over="ignore"):  # values beyond half float become infinite
            return values.astype(depth.dtype)
    codes = values * np.float32(depth.maximum)
    codes += np.float32(0.5)
    return np.clip(codes, 0, depth.maximum, out=codes).astype(depth.dtype)
