"""Chart: the exposure, warmth and magenta that bring a photographed chart of 24 patches to its published values."""

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
from poise.solve.neutral import BEYOND, rest, undo
from poise.solve.patches import Corners, ways
from poise.solve.working_code import full_range, run

Array = npt.NDArray[np.float64]

MOST_CLIPPED = 0.05
"""The share of clipped pixels above which a patch counts as clipped."""
STEP = 1.1
"""The least ratio of light between neighbouring neutrals; the published ratios are 1.5 and more."""
LEAST_NEUTRALS = 3
"""How many of the six neutrals must not be clipped."""
FARTHEST = 20.0
"""Mean CIEDE2000 over the patches, after the correction, beyond which it is no such chart; measured on charts rendered
under lamps, daylight and fluorescent tubes: up to 4. A camera's own colours add to it."""


@dataclass(frozen=True)
class PatchError:
    """The CIEDE2000 difference of one patch from its published value, before and after, and whether it is clipped."""

    name: str
    before: float
    after: float
    clipped: bool


@dataclass(frozen=True)
class Charted:
    """A correction that brings a chart to its published values, and how near it comes.

    Attributes:
        corners: in the order of the chart, starting at its first patch.
        note: one sentence that describes the correction.
        patches: row by row.
        standing: mean CIEDE2000 of the patches that are not clipped, under the correction that the shot has.
        better: whether this correction comes nearer than that one.
    """

    correction: Correction
    corners: Corners
    note: str
    patches: tuple[PatchError, ...]
    standing: float
    better: bool

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
    pixels: Pixels,
    corners: Corners,
    encoding: Encoding,
    depth: Depth,
    correction: Correction | None = None,
    present: Correction | None = None,
) -> Charted:
    """The light stage that gives the neutrals of a chart their published values; slope goes beyond its limits.

    The corners may start at any corner patch and go in either direction; the patches show the orientation. Levels are
    reset, since exposure sets white. The rest of the correction stays, flare included, but the differences are computed
    under light and balance alone. Clipped neutrals are left out; at least three of the six are needed.

    Args:
        pixels: (height, width, 3) in file codes of `depth`, at full resolution.
        correction: the one to change; neutral if None.
        present: the present correction of the shot, which the result is compared with; `correction` if None.

    Raises:
        PoiseError: the picture is grey; there is no chart between the corners; its patches are too small; or more than
            three neutrals are clipped.

    Example:
        chart(frame.colour, ((0.2, 0.2), (0.8, 0.2), (0.8, 0.6), (0.2, 0.6)), CODED, frame.depth).after
    """
    if pixels.shape[-1] != 3:
        raise PoiseError("a grey picture has no colours to compare with a chart")
    if high_range(encoding.work):
        raise PoiseError(
            f"{encoding.work} leaves room above white, and no chart says how much: deliver in another code"
        )
    given = correction or Correction()
    maximum = None if depth.is_float else float(depth.maximum)
    found: list[Charted] = []
    ranked, clipped = False, ""
    for read in ways(pixels, corners, maximum):
        code, lost = read.median.reshape(-1, 3), read.clipped.reshape(-1) > MOST_CLIPPED
        full = full_range(code, encoding, depth)
        light = run(to_light(given.light, encoding), full)
        if not _ranks(light[NEUTRALS], lost[NEUTRALS], encoding):
            continue
        ranked = True
        if (~lost[NEUTRALS]).sum() < LEAST_NEUTRALS:
            clipped = ", ".join(np.array(names())[NEUTRALS][lost[NEUTRALS]])
            continue
        made, note = _solved(light[NEUTRALS], ~lost[NEUTRALS], given.light, encoding)
        patches = _compared(full, lost, made, encoding, depth)
        names_lost = ", ".join(patch.name for patch in patches if patch.clipped)
        note += f"; clipped and left out: {names_lost}" if names_lost else ""
        kept = replace(given, light=made.light, balance=made.balance, levels=Levels())
        standing, reached = (
            float(_off(full, replace(one, mattes=()), encoding, depth)[~lost].mean())
            for one in (present or given, kept)
        )
        found.append(Charted(kept, read.corners, note, patches, standing, round(reached, 2) < round(standing, 2)))
    if clipped:
        raise PoiseError(
            f"too many neutrals of the chart are clipped ({clipped}) and {LEAST_NEUTRALS} are needed: "
            "take a darker exposure"
        )
    if found:
        best = min(found, key=lambda one: one.after)
        if best.after <= FARTHEST:
            return best
    what = "its colours are not those of" if ranked else "its last row is not the neutrals of"
    raise PoiseError(f"no chart between these corners: {what} the 24 patches; set the corners again")


def _ranks(neutrals: Array, lost: npt.NDArray[np.bool_], encoding: Encoding) -> bool:
    """Whether the last row descends from white to black. A clipped patch may equal the next one, but not be darker.

    Where too few unclipped patches remain, the clipped ones must be the lightest.
    """
    levels = luma(neutrals[:, 0], neutrals[:, 1], neutrals[:, 2], weights(encoding.primaries))
    whole = levels[~lost]
    if len(whole) < 2 or (len(whole) < LEAST_NEUTRALS and not lost[: -len(whole)].all()):
        return False
    falls = np.all(whole[:-1] >= STEP * np.maximum(whole[1:], 0))
    follow = np.array([levels[i + 1 :].max(initial=0) for i in range(len(levels))])
    return bool(whole[-2] > 0 and falls and np.all(levels[lost] >= follow[lost]))


def _solved(neutrals: Array, whole: npt.NDArray[np.bool_], was: Light, encoding: Encoding) -> tuple[Correction, str]:
    """The light and slope that bring the neutrals, (6, 3) in linear light, to their published values, and a note.

    Args:
        whole: (6,) True for those that are not clipped; only these count.
    """
    goal = published_light(encoding.primaries)[NEUTRALS][whole]
    # least squares: light patches have the largest weight
    seen = (neutrals[whole] * goal).sum(axis=0) / (goal * goal).sum(axis=0)
    seen = np.maximum(seen, 1e-9)
    warmth, magenta = (round(value, 2) for value in undo(seen / seen[1], encoding.primaries))
    left = light_matrix(warmth, magenta, primaries=encoding.primaries) @ seen
    slope = rest(left / left[1], encoding)
    level = float(luma(left[0], left[1], left[2], weights(encoding.primaries)))
    stops = round(float(np.clip(-np.log2(level), EXPOSURE.low, EXPOSURE.high)), 2)
    note = f"exposure {stops:+.2f} stops, warmth {warmth:+.1f} mired, magenta {magenta:+.1f} CC from the neutrals"
    if slope != (1, 1, 1):
        note += f", and slope for the rest, {BEYOND}"
    if stops in (EXPOSURE.low, EXPOSURE.high):
        note += "; exposure is at its limit"
    return Correction(light=replace(was, exposure=stops, warmth=warmth, magenta=magenta), balance=Balance(slope)), note


def _compared(
    full: Array, lost: npt.NDArray[np.bool_], made: Correction, encoding: Encoding, depth: Depth
) -> tuple[PatchError, ...]:
    rows = zip(names(), _off(full, Correction(), encoding, depth), _off(full, made, encoding, depth), lost, strict=True)
    return tuple(
        PatchError(name, round(float(was), 2), round(float(now), 2), bool(gone)) for name, was, now, gone in rows
    )


def _off(full: Array, correction: Correction, encoding: Encoding, depth: Depth) -> Array:
    """The CIEDE2000 difference of each patch from its published value under a correction, (24,)."""
    work = run(order.steps(correction, encoding, clamp=not depth.is_float), full)
    return ciede2000(lab(decode(encoding.work, work), encoding.work_primaries), published_lab())
