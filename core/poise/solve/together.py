"""Shots of one scene under one light: what each tells of the light, multiplied."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from poise.errors import PoiseError
from poise.solve.illuminant import Illuminant, angle, weighed
from poise.solve.lights import nearest, settled

UNLIKELY = 10.0
"""A shot disagrees where its own light is likelier than that of the others by this much, as a natural logarithm."""
APART = 3.0
"""Degrees between the two lights below which it does not matter."""


@dataclass(frozen=True)
class Shared:
    """One light of several shots.

    Attributes:
        lights: the light to undo in each shot, in their order; a grey picture's None stays.
        light: the shared one; None where fewer than two shots agree.
        outliers: indexes of the shots that disagree with the rest, and keep their own light.
    """

    lights: tuple[Illuminant | None, ...]
    light: Illuminant | None
    outliers: tuple[int, ...]


def together(lights: Sequence[Illuminant | None], primaries: Sequence[str]) -> Shared:
    """The light that shots of one scene share.

    Shots that disagree with the rest are left out one by one, the worst first, while at least two remain.

    Args:
        lights: of each shot, as it tells alone; None of a grey picture.
        primaries: of each shot's encoding.

    Raises:
        PoiseError: the shots differ in primaries.

    Example:
        together([measure(*shot).illuminant for shot in shots], ["ITU-R BT.709"] * len(shots)).outliers
    """
    if len(set(primaries)) > 1:
        raise PoiseError("shots with different primaries can't share one light; solve each alone")
    alone = {index: light for index, light in enumerate(lights) if light is not None}
    inside, outliers = list(alone), list[int]()
    while len(inside) > 2:
        odds = {index: _against(alone, inside, index, primaries[0]) for index in inside}
        worst = max(inside, key=lambda index: odds[index])
        if odds[worst] < UNLIKELY:
            break
        inside.remove(worst)
        outliers.append(worst)
    if len(inside) < 2:
        return Shared(tuple(lights), None, ())
    one_colour = all(alone[index].one_colour for index in inside)
    likelihood = np.sum([alone[index].likelihood for index in inside], axis=0)
    found, sure = settled(likelihood, primaries[0])
    light = replace(weighed(found, sure, {}, one_colour, likelihood), shots=len(inside))
    each = (light if index in inside else lights[index] for index in range(len(lights)))
    return Shared(tuple(each), light, tuple(sorted(outliers)))


def _against(alone: dict[int, Illuminant], inside: Sequence[int], index: int, primaries: str) -> float:
    """How much likelier a shot's own light is in it than the light of the others, as a natural logarithm."""
    others = np.sum([alone[each].likelihood for each in inside if each != index], axis=0)
    theirs, own = settled(others, primaries)[0], alone[index]
    if angle(own.light, theirs) < APART:
        return 0.0
    return float(own.likelihood.max() - own.likelihood[nearest(theirs, primaries)])
