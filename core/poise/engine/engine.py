"""The engine: a correction compiled for one encoding and depth, then applied to any number of pictures."""

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np
import PyOpenColorIO as ocio
from msgspec.structs import replace

from poise.chain import encoding as ends
from poise.chain import matte, order, source
from poise.chain.stage import Clamp, Stage
from poise.correction.model import Correction, Encoding, SteadyLight
from poise.engine.fold import FINE_TOLERANCE, Interval, Operation, Table, fold
from poise.engine.processor import build, run
from poise.engine.rescale import rescaled
from poise.errors import PoiseError
from poise.frames.frame import Depth, Pixels

if TYPE_CHECKING:
    from poise.engine.matte_apply import Keyed

Output = Literal["delivery", "work"]

LEAST_HELD, MOST_HELD = -0.5, 64.0
"""The values of a float picture between which its tables are fitted to it."""
FINE, COARSE = 65536, 4096
"""Entries of a table: for files, and for proxies and samples on screen."""


@dataclass(frozen=True)
class Engine:
    """A compiled correction; see `compile_engine`.

    Attributes:
        depth, out_depth: the depth of input and output.
        coloured: whether it treats channels differently, and so can't be applied to a grey picture.
        processor: everything but the mattes; None if it changes no value but its depth.
        within: the same from halves in an interval to halves, by quicker tables that are exact to a quarter of the last
            place of most; None for other depths, and if it has no tables.
        keyed: the mattes; None if none changes anything.
    """

    depth: Depth
    out_depth: Depth
    coloured: bool
    processor: ocio.CPUProcessor | None
    keyed: "Keyed | None" = None
    within: Callable[[tuple[float, float]], ocio.CPUProcessor] | None = None

    @property
    def identity(self) -> bool:
        """Whether the output equals the input."""
        return self.processor is None and self.keyed is None and self.depth is self.out_depth

    def apply(self, pixels: Pixels, threads: int = 1) -> Pixels:
        """The corrected picture, a new array of `out_depth.dtype`.

        Alpha, and a pixel with a NaN or infinite channel, only change their depth. Where every matte is 0, the values
        equal those without mattes.

        Args:
            pixels: (height, width, 1 to 4), `depth.dtype`; with mattes, the whole picture or an even sample of it.
            threads: the number of threads that share the rows.

        Raises:
            PoiseError: the picture is grey, and the correction or a matte treats channels differently.

        Example:
            compile_engine(Correction(saturation=1.1), CODED, Depth.U16).apply(frame.pixels)
        """
        if self.identity:
            return pixels.copy()
        if pixels.shape[-1] < 3:
            return self._grey(pixels, threads)
        source = np.ascontiguousarray(pixels, self.depth.dtype)
        result = self._plain(source, threads)
        if self.keyed is not None:
            self.keyed.apply(source, result, threads)
        if self.depth.is_float and not _finite(source):
            lost = ~np.isfinite(source[..., :3]).all(axis=-1)
            result[lost, :3] = source[lost, :3] if self.out_depth.is_float else 0
        if source.shape[-1] == 4 and self.depth is not self.out_depth:
            result[..., 3:] = rescaled(source[..., 3:], self.depth, self.out_depth, threads)
        return result

    def _plain(self, source: Pixels, threads: int) -> Pixels:
        """The corrected picture without mattes."""
        if self.processor is None:
            return rescaled(source, self.depth, self.out_depth, threads)
        result = np.empty(source.shape, self.out_depth.dtype)
        held = interval(source) if self.within else None
        processor = self.within(held) if self.within and held else self.processor
        parts = max(1, min(threads, source.shape[0]))
        edges = [source.shape[0] * i // parts for i in range(parts + 1)]
        rows = [slice(a, b) for a, b in pairwise(edges)]

        def part(rows: slice) -> None:
            run(processor, source[rows], self.depth, result[rows], self.out_depth)

        if parts == 1:
            part(rows[0])
        else:
            with ThreadPoolExecutor(parts) as pool:
                list(pool.map(part, rows))
        return result

    def fits_grey(self) -> None:
        """Check that the correction can be applied to a grey picture.

        Raises:
            PoiseError: it treats channels differently.
        """
        if self.coloured:
            raise PoiseError(
                "a greyscale picture takes no warmth, magenta, flare or balance between channels; make its channels "
                "equal, and use no CLF that tints"
            )
        name = self.keyed.coloured if self.keyed else None
        if name is not None:
            raise PoiseError(
                f"a greyscale picture takes no turn or balance between channels, as in the matte {name!r}; "
                "make its channels equal"
            )

    def _grey(self, pixels: Pixels, threads: int) -> Pixels:
        self.fits_grey()
        rgb = self.apply(np.repeat(pixels[..., :1], 3, axis=-1), threads)[..., :1]
        if pixels.shape[-1] == 1:
            return np.ascontiguousarray(rgb)
        return np.concatenate([rgb, rescaled(pixels[..., 1:], self.depth, self.out_depth, threads)], axis=-1)


def compile_engine(
    correction: Correction,
    encoding: Encoding,
    depth: Depth,
    out_depth: Depth | None = None,
    *,
    output: Output = "delivery",
    entries: int = FINE,
) -> Engine:
    """Compile a correction for pictures of one depth and encoding.

    Args:
        depth: the depth of the input.
        out_depth: the depth of the output; None for the same.
        output: "delivery" for files, or "work" for scopes: full-range work code in codes of `depth`, or in float if the
            picture is float or narrow range, so that levels outside 0..1 are kept.
        entries: the size of the tables, FINE or COARSE; small ones are faster to compile and enough for a proxy.

    Raises:
        PoiseError: an unknown transfer function or primaries, narrow range on float, or a CLF that can't be used.

    Example:
        >>> engine = compile_engine(Correction(), Encoding(), Depth.U8, Depth.U16)
        >>> engine.apply(np.array([[[0, 128, 255]]], np.uint8)).tolist()
        [[[0, 32896, 65535]]]
    """
    delivered = out_depth or depth
    work = output == "work"
    out = delivered
    if work:
        out = Depth.FLOAT if depth.is_float or encoding.range == "narrow" else depth
    mattes = matte.active(correction.mattes)
    keyed = None
    if mattes:
        from poise.engine.matte_compile import compiled  # OpenCV is slow to load

        keyed = compiled(correction, mattes, encoding, depth, delivered, out, entries, work)
    folded = _folded(correction, encoding, depth, delivered, out, work, entries)
    if folded is None:
        return Engine(depth, out, False, None, keyed)
    halves = depth is out is Depth.HALF and entries == FINE and any(isinstance(one, Table) for one in folded)

    @lru_cache(maxsize=2)
    def within(held: tuple[float, float]) -> ocio.CPUProcessor:
        return build(_folded(correction, encoding, depth, delivered, out, work, entries, held) or [], depth, out)

    processor = build(folded, depth, out)
    return Engine(depth, out, _coloured(correction, encoding), processor, keyed, within if halves else None)


def operations(correction: Correction, encoding: Encoding, depth: Depth) -> list[Operation]:
    """The operations on files of a depth, in order, without mattes; none if they change nothing.

    Raises:
        PoiseError: as `compile_engine`.

    Example:
        >>> operations(Correction(), Encoding(), Depth.U16)
        []
    """
    return _folded(correction, encoding, depth, depth, depth, work=False, entries=FINE) or []


def _folded(
    correction: Correction,
    encoding: Encoding,
    depth: Depth,
    delivered: Depth,
    out: Depth,
    work: bool,
    entries: int,
    held: Interval = None,
) -> list[Operation] | None:
    """The operations without the mattes; None if they change no value but its depth.

    Args:
        held: the interval that all values of a float picture are in; None for any.
    """
    entry = ends.entry(encoding, depth)
    steps = order.steps(correction, encoding, clamp=not delivered.is_float)
    if work:
        stages: list[Stage] = [*entry, *steps]
    elif order.is_neutral(replace(correction, mattes=()), encoding) and (encoding.range == "full" or depth is out):
        stages = []
    else:
        stages = [*entry, *steps, *ends.exit(encoding, delivered)]
    if not stages:
        return None
    folded = fold(stages, depth, entries, FINE_TOLERANCE if delivered.is_float else 0.25 / 65535, held)
    if folded and isinstance(folded[-1], Clamp) and not out.is_float:
        folded.pop()  # the conversion to integers clamps
    return folded


def _coloured(correction: Correction, encoding: Encoding) -> bool:
    through = source.transform(encoding)
    if through is not None and through.coloured:
        return True
    light, balance, curves = correction.light, correction.balance, correction.curves
    triples = (light.flare, balance.slope, balance.offset, balance.power, (curves.red, curves.green, curves.blue))
    return (
        bool(light.warmth or light.magenta)
        or isinstance(light, SteadyLight)
        or any(len(set(triple)) > 1 for triple in triples)
    )


def interval(pixels: Pixels) -> tuple[float, float] | None:
    """An interval that holds every value of a picture of halves.

    It goes from 0, or minus a power of 2, to a power of 2 from 1 on, so that frames share tables. None where a value is
    over `MOST_HELD`, under `LEAST_HELD`, NaN or infinite.

    Example:
        >>> interval(np.array([-0.01, 0.3, 1.5], np.float16))
        (-0.015625, 2.0)
    """
    bits = pixels.view(np.uint16)  # numpy is slow at comparing halves
    most, least = ((b & 0x7FFF).astype(np.uint16).view(np.float16) for b in ((bits & 0x7FFF).max(), bits.max()))
    high, low = float(most), -float(least) if bits.max() > 0x8000 else 0.0
    if not LEAST_HELD <= low <= high <= MOST_HELD:
        return None
    return -(2.0 ** math.ceil(math.log2(-low))) if low < 0 else 0.0, 2.0 ** math.ceil(math.log2(max(high, 1.0)))


def _finite(pixels: Pixels) -> bool:
    """Whether every value is finite; halves are tested by their bits, as numpy is slow at converting them."""
    if pixels.dtype == np.float16:
        exponents = pixels.view(np.uint16) & 0x7C00
        return not bool((exponents == 0x7C00).any())
    return bool(np.isfinite(pixels).all())
