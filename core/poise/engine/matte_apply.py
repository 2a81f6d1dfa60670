"""The mattes of a correction over a picture, in float32: only pixels that a matte takes are written.

Work code is made once in float, a plane a colour; each matte is keyed on the result of those before it, and what it
takes goes through its own compiled correction and from there to the result. Strips of rows go to threads, and are the
same strips whatever the number of threads.
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
from poise.engine.processor import Into, Planes
from poise.engine.strips import pool_of, strips
from poise.frames.frame import Depth, Pixels

Plane = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]
Write = Callable[[slice, Mask, Planes], None]
"""Takes the rows of a strip, the pixels (rows, width) that change in it, and their work code, (3, pixels)."""

ROWS = 64
"""Rows of a strip: few enough for a processor's cache, enough that threads seldom wait for the interpreter."""


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

        def write(rows: slice, taken: Mask, values: Planes) -> None:
            codes = _codes(self.exit.through(values) if self.exit else values, self.out_depth)
            for channel, plane in enumerate(codes):
                result[rows, :, channel][taken] = plane

        with pool_of(threads) as pool:
            picture = Picture.of(source, self, pool)
            *earlier, last = self.cuts
            for cut in earlier:
                picture.cut(cut, self.by, pool, picture.keep, write)
            picture.cut(last, self.by, pool, write)

    def select(self, source: Pixels, matte: Matte, threads: int) -> "Selected":
        """What `matte` selects after all of `cuts`."""
        with pool_of(threads) as pool:
            picture = self._before(source, pool)
            keyed = picture.keyed(matte, self.by, pool)
            return Selected(picture, keyed, picture.finished(keyed, matte, pool))

    def behind(self, selected: "Selected", inside: Cut | None, later: tuple[Cut, ...], threads: int) -> Planes:
        """(height, width, 3) work code behind all mattes.

        Args:
            selected: left as it is.
            inside: the cut of the matte that selected it; None where it changes nothing.
            later: those of the mattes that follow.
        """
        picture = Picture(selected.picture.work.copy(), selected.picture.lost)
        with pool_of(threads) as pool:
            if inside:
                picture.blend(inside, selected.mask, pool, picture.keep)
            for cut in later:
                picture.cut(cut, self.by, pool, picture.keep)
        return picture.pixels()

    def _before(self, source: Pixels, pool: Executor) -> "Picture":
        """The picture after all of `cuts`."""
        picture = Picture.of(source, self, pool)
        for cut in self.cuts:
            picture.cut(cut, self.by, pool, picture.keep)
        return picture


@dataclass(frozen=True)
class Picture:
    """A picture under way: work code, (3, height, width) float32, which mattes change; and its lost pixels, if any.

    Lost pixels hold NaN or an infinity; they are 0 in every matte.
    """

    work: Planes
    lost: Mask | None

    @classmethod
    def of(cls, source: Pixels, keyed: Keyed, pool: Executor) -> "Picture":
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

        def keyed(rows: slice) -> None:
            found = values[rows]
            key(self.work[:, rows], matte, by, found)
            if matte.invert:
                np.subtract(1, found, out=found)
            self._leave_out(values, rows)

        strips(keyed, height, ROWS, pool)
        return values

    def finished(self, values: Plane, matte: Matte, pool: Executor) -> Plane:
        """What was keyed, denoised and blurred."""
        height = len(values)
        values = blur(denoise(values, radius(matte.denoise, height), pool), matte.blur * height, pool)
        self._leave_out(values, slice(None))
        return values

    def cut(self, cut: Cut, by: Weights, pool: Executor, *into: Write) -> None:
        """Corrects what a matte takes and hands it on, a strip at a time."""
        self.blend(cut, self.mask(cut.matte, by, pool), pool, *into)

    def blend(self, cut: Cut, mask: Plane, pool: Executor, *into: Write) -> None:
        """The same with a finished matte."""

        def strip(rows: slice) -> None:
            taken = mask[rows] > 0
            if not taken.any():
                return
            before = np.stack([plane[rows][taken] for plane in self.work])
            values = cut.inside.through(before)
            values -= before
            values *= mask[rows][taken]
            values += before
            for write in into:
                write(rows, taken, values)

        strips(strip, len(mask), ROWS, pool)

    def keep(self, rows: slice, taken: Mask, values: Planes) -> None:
        """Changes work code, for the mattes that follow."""
        for plane, changed in zip(self.work, values, strict=True):
            plane[rows][taken] = changed

    def pixels(self) -> Planes:
        """Work code as it is now, (height, width, 3); NaN where a pixel is lost."""
        pixels: Planes = np.ascontiguousarray(np.moveaxis(self.work, 0, -1))
        if self.lost is not None:
            pixels[self.lost] = np.nan
        return pixels

    def _leave_out(self, values: Plane, rows: slice) -> None:
        if self.lost is not None:
            values[rows][self.lost[rows]] = 0


@dataclass(frozen=True)
class Selected:
    """What one matte selects, whatever it does inside.

    Attributes:
        picture: that it is keyed on.
        keyed, mask: (height, width), 0..1, before denoise and blur, and finished.
    """

    picture: Picture
    keyed: Plane
    mask: Plane


def _codes(values: Planes, depth: Depth) -> Pixels:
    """floor(v (2^n - 1) + 0.5), clamped; float as it is."""
    if depth.is_float:
        with np.errstate(over="ignore"):  # beyond half float
            return values.astype(depth.dtype)
    codes = values * np.float32(depth.maximum)
    codes += np.float32(0.5)
    return np.clip(codes, 0, depth.maximum, out=codes).astype(depth.dtype)
