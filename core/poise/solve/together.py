"""One illuminant for several shots of a scene, by the product of their likelihoods."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from poise.errors import PoiseError
from poise.solve.illuminant import Illuminant, angle, as_illuminant
from poise.solve.lights import nearest, settled

UNLIKELY = 10.0
"""A shot is an outlier if its own light is likelier in it than the light of the others by this log ratio."""
APART = 3.0
"""Lights within this many degrees count as the same."""


@dataclass(frozen=True)
class Shared:
    """The illuminants of several shots, estimated together.

    Attributes:
        lights: the illuminant to correct in each shot, in their order; None for a grey picture.
        light: the shared illuminant; None if fewer than two shots agree.
        outliers: the indexes of the shots that disagree with the others; they keep their own illuminant.
    """

    lights: tuple[Illuminant | None, ...]
    light: Illuminant | None
    outliers: tuple[int, ...]


def together(lights: Sequence[Illuminant | None], primaries: Sequence[str]) -> Shared:
    """Estimates one illuminant for shots of a scene.

    Shots that disagree with the others are left out one by one, the worst first, while more than two remain.

    Args:
        lights: the illuminant of each shot, estimated alone; None for a grey picture.
        primaries: of the encoding of each shot.

    Raises:
        PoiseError: the shots differ in primaries, or these are unknown.

    Example:
        >>> together([None, None], ["ITU-R BT.709", "ITU-R BT.709"]).light is None
        True
    """
    if len(set(primaries)) > 1:
        raise PoiseError("shots with different primaries can't share one light; solve each alone")
    alone = {index: light for index, light in enumerate(lights) if light is not None}
    kept, outliers = list(alone), list[int]()
    while len(kept) > 2:
        ratios = {index: _log_ratio(alone, kept, index, primaries[0]) for index in kept}
        worst = max(kept, key=lambda index: ratios[index])
        if ratios[worst] < UNLIKELY:
            break
        kept.remove(worst)
        outliers.append(worst)
    if len(kept) < 2:
        return Shared(tuple(lights), None, ())
    one_colour = all(alone[index].one_colour for index in kept)
    likelihood = np.sum([alone[index].likelihood for index in kept], axis=0)
    found, sure = settled(likelihood, primaries[0])
    light = replace(as_illuminant(found, sure, {}, one_colour, likelihood), shots=len(kept))
    each = (light if index in kept else lights[index] for index in range(len(lights)))
    return Shared(tuple(each), light, tuple(sorted(outliers)))


def _log_ratio(alone: dict[int, Illuminant], kept: Sequence[int], index: int, primaries: str) -> float:
    """The log likelihood ratio, in one shot, of its own light and the light of the others."""
    others = np.sum([alone[each].likelihood for each in kept if each != index], axis=0)
    theirs, own = settled(others, primaries)[0], alone[index]
    if angle(own.light, theirs) < APART:
        return 0.0
    return float(own.likelihood.max() - own.likelihood[nearest(theirs, primaries)])
