"""The engine: a correction compiled for one encoding and depth, then applied to any number of pictures."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np
import PyOpenColorIO as ocio
from msgspec.structs import replace

from poise.chain import encoding as ends
from poise.chain import matte, order, source
from poise.chain.stage import Clamp, PerChannel, Stage
from poise.correction.model import Correction, Encoding
from poise.engine.fold import FINE_TOLERANCE, Operation, fold
from poise.engine.processor import build, run
from poise.errors import PoiseError
from poise.frames.frame import Depth, Pixels

if TYPE_CHECKING:
    from poise.engine.matte_apply import Keyed

Output = Literal["delivery", "work"]

FINE, COARSE = 65536, 4096
"""Entries of a table: for files, and for the scopes and thumbnail of a proxy."""


@dataclass(frozen=True)
class Engine:
    """A compiled correction; see `compile_engine`.

    Attributes:
        depth, out_depth: of the pictures that go in and come out.
        coloured: whether it treats channels differently, which a grey picture can't take.
        processor: all but the mattes; None when the very same values come out.
        keyed: the mattes; None when none changes anything.
    """

    depth: Depth
    out_depth: Depth
    coloured: bool
    processor: ocio.CPUProcessor | None
    keyed: "Keyed | None" = None

    @property
    def identity(self) -> bool:
        """Whether the very same values come out."""
        return self.processor is None and self.keyed is None

    def apply(self, pixels: Pixels, threads: int = 1) -> Pixels:
        """The corrected picture, a new array.

        Where every matte is 0, these are the very values that come out without mattes.

        Args:
            pixels: (height, width, 1 to 4), `depth.dtype`. Alpha goes through untouched, and so does a pixel in which
                a channel is NaN or infinite. Mattes need the whole picture, or an evenly sampled one.
            threads: rows are split among so many.

        Raises:
            PoiseError: the picture is grey and the correction, or that inside a matte, tells channels apart.

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
        return result

    def _plain(self, source: Pixels, threads: int) -> Pixels:
        """The result without mattes."""
        if self.processor is None:
            return source.copy()
        result = np.empty(source.shape, self.out_depth.dtype)
        parts = max(1, min(threads, source.shape[0]))
        edges = [source.shape[0] * i // parts for i in range(parts + 1)]
        rows = [slice(a, b) for a, b in pairwise(edges)]

        def part(rows: slice) -> None:
            run(self.processor, source[rows], self.depth, result[rows], self.out_depth)

        if parts == 1:
            part(rows[0])
        else:
            with ThreadPoolExecutor(parts) as pool:
                list(pool.map(part, rows))
        return result

    def fits_grey(self) -> None:
        """Raises PoiseError where it tells channels apart, which a grey picture can't take."""
        if self.coloured:
            raise PoiseError(
                "a greyscale picture takes no warmth, magenta, flare or balance between channels; level them, and "
                "name no CLF that tints"
            )
        name = self.keyed.coloured if self.keyed else None
        if name is not None:
            raise PoiseError(
                f"a greyscale picture takes no turn or balance between channels, as the matte {name!r} has; level it"
            )

    def _grey(self, pixels: Pixels, threads: int) -> Pixels:
        self.fits_grey()
        rgb = self.apply(np.repeat(pixels[..., :1], 3, axis=-1), threads)[..., :1]
        if pixels.shape[-1] == 1:
            return np.ascontiguousarray(rgb)
        scale = self.out_depth.maximum / self.depth.maximum
        alpha = pixels[..., 1:] if self.depth is self.out_depth else np.rint(pixels[..., 1:] * scale)
        return np.concatenate([rgb, alpha.astype(rgb.dtype)], axis=-1)


def compile_engine(
    correction: Correction,
    encoding: Encoding,
    depth: Depth,
    out_depth: Depth | None = None,
    *,
    output: Output = "delivery",
    entries: int = FINE,
) -> Engine:
    """A correction made ready for pictures of one depth and encoding.

    Args:
        depth: of the pictures that come in.
        out_depth: of those that go out; None for the same.
        output: "delivery" for files; "work" for scopes: work code at full range, in codes of `depth`, or as float
            where the picture is float or narrow range, so that levels outside 0..1 show.
        entries: of a table; fewer are enough for a proxy and quicker to bake.

    Raises:
        PoiseError: an unknown transfer function or primaries, or narrow range on float.
    """
    delivered = out_depth or depth
    work = output == "work"
    out = delivered
    if work:
        out = Depth.FLOAT if depth.is_float or encoding.range == "narrow" else depth
    mattes = matte.active(correction.mattes)
    keyed = None
    if mattes:
        from poise.engine.matte_compile import compiled  # OpenCV takes a while to load

        keyed = compiled(correction, mattes, encoding, depth, delivered, out, entries, work)
    operations = _folded(correction, encoding, depth, delivered, out, work, entries)
    if operations is None:
        return Engine(depth, out, False, None, keyed)
    return Engine(depth, out, _coloured(correction, encoding), build(operations, depth, out), keyed)


def row(correction: Correction, encoding: Encoding, depth: Depth) -> list[Operation]:
    """The operations that files of a depth go through, in order and without the mattes; none where nothing changes.

    Raises:
        PoiseError: as `compile_engine`.

    Example:
        >>> row(Correction(), Encoding(), Depth.U16)
        []
    """
    return _folded(correction, encoding, depth, depth, depth, work=False, entries=FINE) or []


def _folded(
    correction: Correction, encoding: Encoding, depth: Depth, delivered: Depth, out: Depth, work: bool, entries: int
) -> list[Operation] | None:
    """What is run for all but the mattes; None where the very same values come out."""
    entry = ends.entry(encoding, depth)
    steps = order.steps(correction, encoding, clamp=not delivered.is_float)
    if work:
        stages: list[Stage] = [*entry, *steps]
    elif order.is_neutral(replace(correction, mattes=()), encoding):
        stages = []
    else:
        stages = [*entry, *steps, *ends.exit(encoding, delivered)]
    if not stages and depth is not out:
        stages = [PerChannel(lambda v: v, alike=True)]
    if not stages:
        return None
    operations = fold(stages, depth, entries, FINE_TOLERANCE if delivered.is_float else 0.25 / 65535)
    if operations and isinstance(operations[-1], Clamp) and not out.is_float:
        operations.pop()  # the conversion to integers clamps
    return operations


def _coloured(correction: Correction, encoding: Encoding) -> bool:
    through = source.transform(encoding)
    if through is not None and through.coloured:
        return True
    light, balance, curves = correction.light, correction.balance, correction.curves
    triples = (light.flare, balance.slope, balance.offset, balance.power, (curves.red, curves.green, curves.blue))
    return bool(light.warmth or light.magenta) or any(len(set(triple)) > 1 for triple in triples)


def _finite(pixels: Pixels) -> bool:
    """Whether every value is a number; seen by the bits of halves, which numpy would make floats of one by one."""
    if pixels.dtype == np.float16:
        exponents = pixels.view(np.uint16) & 0x7C00
        return not bool((exponents == 0x7C00).any())
    return bool(np.isfinite(pixels).all())
