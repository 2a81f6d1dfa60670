"""Compiles mattes for one encoding and depth: all of them for the engine, or one of them to be shown."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from poise.chain import encoding as ends
from poise.chain import matte, order
from poise.chain.stage import Array, Stage
from poise.colour.luma import weights
from poise.correction.model import Correction, Encoding, Matte
from poise.engine.fold import FINE_TOLERANCE, Interval, fold
from poise.engine.matte_apply import CompiledMatte, Keyed, Selected
from poise.engine.processor import Planes, ToFloat
from poise.frames.frame import Depth, Pixels

Plane = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Keyer:
    """One matte of a correction; see `matte_of`.

    Attributes:
        keyed: the mattes before it.
        matte: the matte itself.
        own: the same, compiled; None if it changes nothing.
        later: the mattes after it.
    """

    keyed: Keyed
    matte: Matte
    own: CompiledMatte | None
    later: tuple[CompiledMatte, ...]

    def apply(self, pixels: Pixels, threads: int = 1) -> Plane:
        """The finished matte of a whole picture, (height, width), 0..1; 0 where a channel is NaN or infinite.

        Args:
            pixels: (height, width, 1 to 4), `depth.dtype`, as for `Engine.apply`.
        """
        return self.select(pixels, threads).mask

    def select(self, pixels: Pixels, threads: int = 1) -> Selected:
        """The matte, before denoise and blur and finished, with the picture that it is keyed on.

        Args:
            pixels: as for `apply`.
        """
        return self.keyed.select(self._colour(pixels), self.matte, threads)

    def behind(self, selected: Selected, threads: int = 1) -> Planes:
        """Work code after all mattes, (height, width, 3) float32; NaN where a channel is NaN or infinite.

        Args:
            selected: the selection of this matte, with any correction inside; not changed.

        Example:
            keyer.behind(keyer.select(frame.pixels))
        """
        return self.keyed.behind(selected, self.own, self.later, threads)

    def _colour(self, pixels: Pixels) -> Pixels:
        colour = np.repeat(pixels[..., :1], 3, axis=-1) if pixels.shape[-1] < 3 else pixels
        return np.ascontiguousarray(colour, self.keyed.work.depth.dtype)


def matte_of(correction: Correction, index: int, encoding: Encoding, depth: Depth, *, entries: int = 65536) -> Keyer:
    """Compile `correction.mattes[index]`, even if it is off or neutral inside, on the result of those before it.

    Args:
        depth: the depth of the input.
        entries: as in `compile_engine`.

    Raises:
        IndexError: there is no such matte.
        PoiseError: as `compile_engine`.

    Example:
        matte_of(correction, 0, CODED, frame.depth).apply(frame.pixels)
    """
    shown = correction.mattes[index]
    before, own, later = (
        matte.active(mattes) for mattes in (correction.mattes[:index], (shown,), correction.mattes[index + 1 :])
    )
    keyed = compiled(correction, (*before, *own, *later), encoding, depth, depth, depth, entries, work=True)
    first, rest = keyed.mattes[: len(before)], keyed.mattes[len(before) :]
    return Keyer(replace(keyed, mattes=first), shown, rest[0] if own else None, rest[len(own) :])


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
    """Compile mattes on top of the rest of a correction.

    Args:
        mattes: active ones, in order.
        delivered: the depth that decides whether values are clamped, and the codes of narrow range.
        out: the depth of the result.
        entries: as in `compile_engine`.
        work: whether the result is in work code.

    Raises:
        PoiseError: as `compile_engine`.
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

    def from_float(stages: list[Stage]) -> ToFloat:
        return ToFloat.of(fold(stages, Depth.FLOAT, entries, FINE_TOLERANCE, held), Depth.FLOAT)

    into = fold([*entry, *order.steps(correction, encoding, clamp)], depth, entries, FINE_TOLERANCE)
    exit = [] if work else ends.exit(encoding, delivered)
    inside = [matte.inside_stages(one.inside, encoding.work, by, clamp) for one in mattes]
    own = tuple(CompiledMatte(one, from_float(stages)) for one, stages in zip(mattes, inside, strict=True))
    return Keyed(out, ToFloat.of(into, depth), own, from_float(exit) if exit else None, by)
