"""Light: decode, exposure, warmth, magenta and primaries in linear light, encode to work code."""

import numpy as np

from poise.chain.stage import Linear, PerChannel, Stage
from poise.colour.adaptation import light_matrix
from poise.colour.transfer import decode, encode
from poise.correction.model import Encoding, Light


def is_neutral(light: Light) -> bool:
    return light == Light()


def stages(light: Light, encoding: Encoding) -> list[Stage]:
    """Source code to work code; nothing where source and work are the same code and the light is neutral.

    Raises:
        PoiseError: unknown transfer function or primaries.
    """
    source, work = encoding.given, encoding.work
    same = encoding.delivery_primaries in (None, encoding.primaries)
    if is_neutral(light) and same and source == work:
        return []
    steps: list[Stage] = []
    if source != "linear":
        steps.append(PerChannel(lambda code: decode(source, code), alike=True))
    if not (is_neutral(light) and same):
        matrix = light_matrix(
            light.warmth, light.magenta, light.exposure, encoding.primaries, encoding.delivery_primaries
        )
        steps.append(Linear(matrix, np.zeros(3)))
    steps.append(PerChannel(lambda value: encode(work, value), alike=True))
    return steps
