"""A chart of 24 patches with published values: exposure, warmth and magenta that bring a picture of it to them."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.chain import order
from poise.chain.light import to_light
from poise.colour.adaptation import light_matrix
from poise.colour.chart import NEUTRALS, names, published_lab, published_light
from poise.colour.difference import ciede2000, lab
from poise.colour.luma import luma, weights
from poise.colour.transfer import decode, high_range
from poise.correction.controls import EXPOSURE
from poise.correction.model import Balance, Correction, Encoding, Levels, Light
from poise.errors import PoiseError
from poise.frames.frame import Depth, Pixels
from poise.solve.neutral import rest, undo
from poise.solve.patches import Corners, ways
from poise.solve.working_code import full_range, run

Array = npt.NDArray[np.float64]

MOST_CLIPPED = 0.05
"""Share of a patch's pixels; with more, its colour is lost."""
STEP = 1.1
"""How much lighter each neutral must be than the next; published are 1.5 and more."""
FARTHEST = 20.0
"""Mean CIEDE2000 over the patches, after the correction, beyond which it is no such chart; measured on charts rendered
under lamps, daylight and fluorescent tubes: up to 4. A camera's own colours add to it."""


@dataclass(frozen=True)
class PatchError:
    """CIEDE2000 of one patch against its published value, before and after, and whether it is clipped."""

    name: str
    before: float
    after: float
    clipped: bool


@dataclass(frozen=True)
class Charted:
    """A correction under which a chart comes to its published values, and how near.

    Attributes:
        corners: as they were found to go round, the first patch first.
        note: one sentence that says what was done.
        patches: row by row.
    """

    correction: Correction
    corners: Corners
    note: str
    patches: tuple[PatchError, ...]

    @property
    def before(self) -> float:
        """Mean CIEDE2000 of the patches that are not clipped, uncorrected."""
        return float(np.mean([patch.before for patch in self.patches if not patch.clipped]))

    @property
    def after(self) -> float:
        """The same, corrected."""
        return float(np.mean([patch.after for patch in self.patches if not patch.clipped]))

    @property
    def worst(self) -> PatchError:
        """The patch that is farthest off, corrected."""
        return max((patch for patch in self.patches if not patch.clipped), key=lambda patch: patch.after)


def chart(
    pixels: Pixels, corners: Corners, encoding: Encoding, depth: Depth, correction: Correction | None = None
) -> Charted:
    """The light, and slope where that ends, under which the neutrals of a chart have their published values.

    Corners may begin at any corner patch and go round either way: the patches themselves tell how the chart lies.
    Levels become neutral, since exposure says where white is; all else of the correction stays, flare as well, but the
    differences are those under light and balance alone.

    Args:
        pixels: (height, width, 3) in file codes of `depth`, at full resolution.
        correction: the one to change; neutral if None.

    Raises:
        PoiseError: a grey picture; corners that are no chart's; patches that are clipped, too small, or don't rank as
            those of a chart.

    Example:
        chart(frame.colour, ((0.2, 0.2), (0.8, 0.2), (0.8, 0.6), (0.2, 0.6)), CODED, frame.depth).after
    """
    if pixels.shape[-1] != 3:
        raise PoiseError("a grey picture has no colours to compare with a chart")
    if high_range(encoding.work):
        raise PoiseError(
            f"{encoding.work} leaves room above white, and no chart says how much: deliver in another code"
        )
    present = correction or Correction()
    maximum = None if depth.is_float else float(depth.maximum)
    found: list[Charted] = []
    ranked = clipped = False
    for read in ways(pixels, corners, maximum):
        code, lost = read.median.reshape(-1, 3), read.clipped.reshape(-1) > MOST_CLIPPED
        full = full_range(code, encoding, depth)
        light = run(to_light(present.light, encoding), full)
        if not _ranks(light[NEUTRALS], lost[NEUTRALS], encoding):
            continue
        ranked = True
        if lost[NEUTRALS].any():
            clipped = True
            continue
        made, note = _solved(light[NEUTRALS], present.light, encoding)
        patches = _compared(full, lost, made, encoding, depth)
        names_lost = ", ".join(patch.name for patch in patches if patch.clipped)
        note += f"; clipped and left out: {names_lost}" if names_lost else ""
        kept = replace(present, light=made.light, balance=made.balance, levels=Levels())
        found.append(Charted(kept, read.corners, note, patches))
    if clipped:
        raise PoiseError("a neutral patch of the chart is clipped, so its level is lost: take a darker exposure")
    if found:
        best = min(found, key=lambda one: one.after)
        if best.after <= FARTHEST:
            return best
    what = "its colours are not those of" if ranked else "its last row is not the neutrals of"
    raise PoiseError(f"no chart between these corners: {what} the 24 patches; set the corners again")


def _ranks(neutrals: Array, lost: npt.NDArray[np.bool_], encoding: Encoding) -> bool:
    """Whether the last row falls from white to black; what is clipped can't, but must not be darker than the next."""
    levels = luma(neutrals[:, 0], neutrals[:, 1], neutrals[:, 2], weights(encoding.primaries))
    least = np.maximum(levels[1:], 0) * np.where(lost[:-1], 1.0, STEP)
    return bool(levels[-2] > 0 and not lost[3:].any() and np.all(levels[:-1] >= least))


def _solved(neutrals: Array, was: Light, encoding: Encoding) -> tuple[Correction, str]:
    """Light and slope that bring the neutrals, (6, 3) linear light, to their published values, and what they are."""
    goal = published_light(encoding.primaries)[NEUTRALS]
    seen = (neutrals * goal).sum(axis=0) / (goal * goal).sum(axis=0)  # least squares: light patches tell most
    seen = np.maximum(seen, 1e-9)
    warmth, magenta = (round(value, 2) for value in undo(seen / seen[1], encoding.primaries))
    left = light_matrix(warmth, magenta, primaries=encoding.primaries) @ seen
    slope = rest(left / left[1], encoding)
    level = float(luma(left[0], left[1], left[2], weights(encoding.primaries)))
    stops = round(float(np.clip(-np.log2(level), EXPOSURE.low, EXPOSURE.high)), 2)
    note = f"exposure {stops:+.2f} stops, warmth {warmth:+.1f} mired, magenta {magenta:+.1f} CC from the neutrals"
    if slope != (1, 1, 1):
        note += ", and slope for the rest, beyond the reach of warmth"
    if stops in (EXPOSURE.low, EXPOSURE.high):
        note += "; exposure is at its limit"
    return Correction(light=replace(was, exposure=stops, warmth=warmth, magenta=magenta), balance=Balance(slope)), note


def _compared(
    full: Array, lost: npt.NDArray[np.bool_], made: Correction, encoding: Encoding, depth: Depth
) -> tuple[PatchError, ...]:
    def off(correction: Correction) -> Array:
        work = run(order.steps(correction, encoding, clamp=not depth.is_float), full)
        return ciede2000(lab(decode(encoding.work, work), encoding.work_primaries), published_lab())

    rows = zip(names(), off(Correction()), off(made), lost, strict=True)
    return tuple(
        PatchError(name, round(float(was), 2), round(float(now), 2), bool(gone)) for name, was, now, gone in rows
    )
