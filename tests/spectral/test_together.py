"""Shots of one scene under one light: the shared light is nearer the true one, and a stranger among them is named."""

import numpy as np
import pytest
from figures import found
from scenes import LIGHTS, Scene, layouts, render

from poise.errors import PoiseError
from poise.solve import together
from poise.solve.illuminant import Illuminant, angle

BT709 = "ITU-R BT.709"
Pair = tuple[Scene, Illuminant]


def lit(under: str, numbers: list[int]) -> list[Pair]:
    """Some layouts of the spectral set under a light, and what each tells of it alone."""
    every = list(layouts(1))
    rendered = [render(every[number], under, np.random.default_rng([1, number])) for number in numbers]
    return [(scene, found(scene)) for scene in rendered]


def errors(group: list[Pair]) -> tuple[list[float], list[float], tuple[int, ...]]:
    """Degrees off the true light of each shot, alone and together, and the outliers."""
    shared = together([light for _, light in group], [BT709] * len(group))
    alone = [angle(light.undone, scene.truth) for scene, light in group]
    pairs = zip(shared.lights, group, strict=True)
    return alone, [angle(light.undone, scene.truth) for light, (scene, _) in pairs if light], shared.outliers


def test_a_shared_light_is_nearer_than_each_alone_and_a_stranger_keeps_its_own() -> None:
    group = lit("A", [4, 7, 10, 11, 12])  # faces, a hedge, three quays
    alone, shared, outliers = errors(group)
    assert outliers == ()
    assert np.mean(shared) <= 0.7 * np.mean(alone)
    assert np.ptp(shared) < 0.01  # one light
    stranger = lit("D65", [10])
    _, _, outliers = errors(group + stranger)
    assert outliers == (5,)
    lights = [light for _, light in group + stranger]
    kept = together(lights, [BT709] * 6)
    assert kept.lights[5] is lights[5]
    assert kept.light is not None
    assert kept.light.shots == 5


def test_nothing_to_share_leaves_each_alone() -> None:
    one = lit("D65", [10])[0][1]
    shared = together([one, None], [BT709] * 2)
    assert (shared.light, shared.outliers, shared.lights) == (None, (), (one, None))
    with pytest.raises(PoiseError, match="primaries"):
        together([one, one], [BT709, "ITU-R BT.2020"])


@pytest.mark.thorough
def test_groups_of_four_to_eight_err_by_at_most_0_7_of_each_alone() -> None:
    alone, shared, rng = [], [], np.random.default_rng(1)
    for under in LIGHTS:
        pool = lit(under, list(range(18)))
        for _ in range(12):
            one, both, _ = errors([pool[index] for index in rng.permutation(18)[: rng.integers(4, 9)]])
            alone += one
            shared += both
    assert np.mean(shared) <= 0.7 * np.mean(alone)  # measured: 0.55
