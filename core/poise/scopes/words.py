"""The drift and flicker of a sequence in words."""

import math

import numpy as np

from poise.scopes.drift import LEAST, Change, Drift

STEADY, STILL = 0.5, 0.1
"""Smaller drift, in per cent of full signal, and smaller flicker, in per cent rms, is not named (common practice, no
source)."""
FLASHES, MORE = 4.5, 3
"""A caution is given if more than MORE frames differ from their neighbours by FLASHES per cent of full signal. WCAG 2
(W3C), success criterion 2.3.1, defines a flash as a pair of opposing changes of 10 % of relative luminance, and allows
three in a second; near white that is 4.5 % of sRGB code."""
CAUTION = "caution: it may flash, a danger to photosensitive viewers; this is no test for that"
NAMED = 8
"""The most frames that are named."""


def describe(found: Drift, whole: bool = True) -> tuple[str, ...]:
    """Describe drift, steps, flicker, the frames that jump, and possible flashing, one sentence each.

    Args:
        whole: whether all frames are known; flicker is left out until they are.

    Example:
        >>> import numpy as np
        >>> from poise.scopes.course import Course
        >>> from poise.scopes.drift import drift
        >>> ramp = np.linspace(40, 46, 7)[:, None, None] * np.ones((1, 4, 3))
        >>> describe(drift(Course(np.arange(1001, 1008), ramp)))
        ('drifts +6.0 % in the middle over 7 frames (black +6.0, white +6.0)', 'no flicker')
    """
    (black, middle, white), over = found.drift[0].tolist(), f"over {found.frames} frames"
    ends = f"(black {black:+.1f}, white {white:+.1f})"
    if max(abs(black), abs(middle), abs(white)) < STEADY:
        said = [f"no drift {over}"]
    else:
        said = [f"drifts {middle:+.1f} % in the middle {over} {ends}"]
    if found.wander >= max(LEAST, 3 * found.rms):
        said.append(f"wanders {found.wander:.1f} % about that")
    _, red, green, blue = found.drift[:, 1].tolist()
    if max(red, green, blue) - min(red, green, blue) >= LEAST:
        said.append(f"colour drifts: red {red - green:+.1f} %, blue {blue - green:+.1f} % against green")
    if found.steps:
        said.append(f"steps {_named(found.steps)}")
    if not whole:
        return tuple(said)
    if math.isnan(found.rms):
        said.append("flicker shows from three frames on")
    elif found.rms < STILL:
        said.append("no flicker")
    else:
        said.append(f"flickers {found.rms:.1f} % rms, worst at {found.peak.number} ({found.peak.amount:+.1f} %)")
    if found.jumps:
        few = f"{len(found.jumps)} frames jump" if len(found.jumps) > 1 else "one frame jumps"
        said.append(f"{few}: {_named(found.jumps)}")
    if _flashing(found):
        said.append(CAUTION)
    return tuple(said)


def _flashing(found: Drift) -> bool:
    """Whether frames repeatedly differ by much from their neighbours; by half as much if they alternate."""
    departures = np.abs(found.departures[np.isfinite(found.departures)])
    alternating = departures.size > MORE and float(np.median(departures)) >= FLASHES / 2
    return alternating or sum(abs(one.amount) >= FLASHES for one in found.jumps) > MORE


def _named(changes: tuple[Change, ...]) -> str:
    shown = [
        f"{one.number} ({'' if one.series == 'luma' else one.series + ' '}{one.amount:+.1f} %)"
        for one in changes[:NAMED]
    ]
    return ", ".join(shown) + (f" and {len(changes) - NAMED} more" if len(changes) > NAMED else "")
