"""Mattes compiled for one encoding and depth, for the engine and for showing one of them by itself."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from poise.chain import encoding as ends
from poise.chain import matte, order
from poise.chain.stage import Array, Stage
from poise.colour.luma import weights
from poise.correction.model import Correction, Encoding, Matte
from poise.engine.fold import FINE_TOLERANCE, Interval, fold
from poise.engine.matte_apply import Cut, Keyed, Selected
from poise.engine.processor import Into, Planes
from poise.frames.frame import Depth, Pixels

Plane = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Keyer:
    """One matte of a correction; see `matte_of`."""

    keyed: Keyed
    matte: Matte
    inside: Cut | None
    later: tuple[Cut, ...]

    def apply(self, pixels: Pixels, threads: int = 1) -> Plane:
        """The finished matte of a whole picture, (height, width), 0..1; 0 where a channel is NaN or infinite.

        Args:
            pixels: (height, width, 1 to 4), `depth.dtype`: of the file, as for `Engine.apply`.
        """
        return self.select(pixels, threads).mask

    def select(self, pixels: Pixels, threads: int = 1) -> Selected:
        """The matte, before denoise and blur and finished, and what it is keyed on; none follows from what is inside.

        Args:
            pixels: as for `apply`.
        """
        return self.keyed.select(self._colour(pixels), self.matte, threads)

    def behind(self, selected: Selected, threads: int = 1) -> Planes:
        """The result, (height, width, 3) float32 work code behind all mattes; NaN where a pixel is lost.

        Args:
            selected: by this matte, perhaps when it did something else inside; left as it is.

        Example:
            keyer.behind(keyer.select(frame.pixels))
        """
        return self.keyed.behind(selected, self.inside, self.later, threads)

    def _colour(self, pixels: Pixels) -> Pixels:
        colour = np.repeat(pixels[..., :1], 3, axis=-1) if pixels.shape[-1] < 3 else pixels
        return np.ascontiguousarray(colour, self.keyed.work.depth.dtype)


def matte_of(correction: Correction, index: int, encoding: Encoding, depth: Depth, *, entries: int = 65536) -> Keyer:
    """One matte of a correction made ready to be looked at, on the result of the mattes before it.

    It is that of `correction.mattes[index]` even if that is off or neutral inside.

    Args:
        depth: of the pictures that come in.
        entries: as in `compile_engine`.

    Raises:
        IndexError: there is no such matte.
        PoiseError: as `compile_engine`.

    Example:
        matte_of(correction, 0, CODED, frame.depth).apply(frame.pixels)
    """
    shown = correction.mattes[index]
    before, inside, later = (
        matte.active(mattes) for mattes in (correction.mattes[:index], (shown,), correction.mattes[index + 1 :])
    )
    keyed = compiled(correction, (*before, *inside, *later), encoding, depth, depth, depth, entries, work=True)
    first, own = keyed.cuts[: len(before)], keyed.cuts[len(before) : len(before) + len(inside)]
    return Keyer(replace(keyed, cuts=first), shown, own[0] if own else None, keyed.cuts[len(first) + len(own) :])


def compiled(
    correction: Correction,
    mattes: tuple[Matte, ...],
    encoding: Encoding,
    depth: Depth,
    delivered: Depth,
    out: Depth,
    entries: int,
    work: bool = False,
) -> Keyed:
    """The mattes given, over the rest of a correction.

    Args:
        delivered: the depth that decides whether values are clamped, and how narrow range is coded.
        out: the depth of the picture that is written to.
        work: that picture is in work code.
    """
    clamp = not delivered.is_float
    by = weights(encoding.work_primaries)
    entry = ends.entry(encoding, depth)
    held: Interval = None
    if clamp and not depth.is_float:
        held = 0.0, 1.0
        if encoding.from_clf:
            held = None
        elif entry:
            corners: Array = entry[0](np.array([[0.0] * 3, [1.0] * 3]))
            held = min(0.0, float(corners.min())), max(1.0, float(corners.max()))

    def from_float(stages: list[Stage]) -> Into:
        return Into.of(fold(stages, Depth.FLOAT, entries, FINE_TOLERANCE, held), Depth.FLOAT)

    into = fold([*entry, *order.steps(correction, encoding, clamp)], depth, entries, FINE_TOLERANCE)
    exit = [] if work else ends.exit(encoding, delivered)
    cuts = [Cut(one, from_float(matte.inside_stages(one.inside, encoding.work, by, clamp))) for one in mattes]
    return Keyed(out, Into.of(into, depth), tuple(cuts), from_float(exit) if exit else None, by)
