"""Light: subtracts flare, decodes, applies exposure, warmth, magenta and primaries, and encodes to work code."""

from functools import lru_cache

import numpy as np

from poise.chain.stage import Array, Linear, PerChannel, Stage, diagonal
from poise.colour.adaptation import light_matrix
from poise.colour.transfer import black_code, decode, encode
from poise.correction.model import Encoding, Light, SteadyLight


def is_neutral(light: Light) -> bool:
    """Whether neither flare nor the decisions in linear light change anything."""
    return _unlit(light) and not any(light.flare)


def is_affine(light: Light, encoding: Encoding) -> bool:
    """Whether the operation is one affine step in code: flare subtracted in code, or nothing.

    Example:
        >>> is_affine(Light(flare=(0.1, 0.1, 0.1), flare_in_code=1), Encoding())
        True
    """
    return _unlit(light) and not np.any(_rest(light, encoding))


def to_light(light: Light, encoding: Encoding) -> list[Stage]:
    """Stages from source code to linear light without flare, the input of exposure, warmth and magenta.

    Raises:
        PoiseError: unknown transfer function.
    """
    return list(_to_light(Light(flare=light.flare, flare_in_code=light.flare_in_code), encoding))


@lru_cache(maxsize=16)
def _to_light(light: Light, encoding: Encoding) -> tuple[Stage, ...]:
    """The stages for a light with flare alone; the same objects each time, as the engine keeps tables by stages."""
    source = encoding.given
    steps: list[Stage] = []
    if np.any(_coded(light, encoding)):
        steps.append(diagonal(*affine_in_code(light, encoding)))
    if source != "linear":
        steps.append(PerChannel(lambda code: decode(source, code), alike=True))
    if np.any(_rest(light, encoding)):
        steps.append(diagonal(*affine_in_light(light, encoding)))
    return tuple(steps)


@lru_cache(maxsize=16)
def _encoded(work: str) -> Stage:
    return PerChannel(lambda value: encode(work, value), alike=True)


def stages(light: Light, encoding: Encoding) -> list[Stage]:
    """Stages from source code to work code.

    Without decoding and encoding if source and work are one code and the operation is affine in code.

    Raises:
        PoiseError: unknown transfer function or primaries.
    """
    source, work = encoding.given, encoding.work
    same = encoding.delivery_primaries in (None, encoding.primaries)
    steps = to_light(light, encoding)
    if is_affine(light, encoding) and same and source == work:
        return [stage for stage in steps if isinstance(stage, Linear)]
    if not (_unlit(light) and same):
        matrix = light_matrix(
            light.warmth, light.magenta, light.exposure, encoding.primaries, encoding.delivery_primaries
        )
        if isinstance(light, SteadyLight):
            matrix = matrix @ np.diag(np.exp2([light.red, 0.0, light.blue]))
        steps.append(Linear(matrix, np.zeros(3)))
    steps.append(_encoded(work))
    return steps


def affine_in_code(light: Light, encoding: Encoding) -> tuple[Array, Array]:
    """Slope and offset, each (3,), that subtract the part of flare that is taken off in code.

    Where black is code 0, with the share s of flare f: (v - s f) / (1 - s f).

    Example:
        >>> slope, offset = affine_in_code(Light(flare=(0.2, 0.1, 0), flare_in_code=1), Encoding())
        >>> slope.round(12).tolist(), offset.round(12).tolist()
        ([1.25, 1.111111111111, 1.0], [-0.25, -0.111111111111, 0.0])
    """
    black = black_code(encoding.given) if any(light.flare) else 0.0
    return _sent(black + _coded(light, encoding), black, 1.0)


def affine_in_light(light: Light, encoding: Encoding) -> tuple[Array, Array]:
    """Slope and offset, each (3,), that subtract the rest of flare in linear light, so that flare becomes black.

    (L - l) / (1 - l), where l is the light of the remaining flare and codes 0 and 1 are light 0 and 1; with other
    functions, the light of black and of code 1 takes the place of 0 and 1.
    """
    source = encoding.given
    black = black_code(source)
    slope, offset = affine_in_code(light, encoding)
    left = np.where(_rest(light, encoding) > 0, slope * (black + np.array(light.flare)) + offset, black)
    low, high = (float(decode(source, end)) for end in (black, 1.0))
    return _sent(decode(source, left), low, high)


def _sent(value: Array, low: float, high: float) -> tuple[Array, Array]:
    """Slope and offset that move a value to `low` and keep `high`."""
    slope = (high - low) / (high - value)
    return slope, low - slope * value


def _coded(light: Light, encoding: Encoding) -> Array:
    """The part of flare subtracted in code: all of a negative flare, and of a positive one all if code is linear."""
    flare = np.array(light.flare)
    return np.where(flare > 0, flare * (1 if encoding.given == "linear" else light.flare_in_code), flare)


def _rest(light: Light, encoding: Encoding) -> Array:
    """The part of flare subtracted in light."""
    return np.array(light.flare) - _coded(light, encoding)


def _unlit(light: Light) -> bool:
    return not (light.exposure or light.warmth or light.magenta or isinstance(light, SteadyLight))
