"""The order of operations, declared once: light, balance and levels, tone, curves, saturation, then mattes.

Up to saturation, each pixel is computed by itself, through a list of stages. A matte also depends on neighbouring
pixels, and selects from the result of everything before it; see `poise.chain.matte`.
"""

from poise.chain import balance, curves, light, matte, saturation, tone
from poise.chain.stage import Clamp, Stage
from poise.correction.model import Correction, Encoding


def is_neutral(correction: Correction, encoding: Encoding) -> bool:
    """Whether a correction changes nothing, so that the output equals the input.

    Example:
        >>> is_neutral(Correction(), Encoding()), is_neutral(Correction(saturation=1.1), Encoding())
        (True, False)
    """
    return (
        not encoding.converts
        and light.is_neutral(correction.light)
        and balance.is_neutral(correction.balance, correction.levels)
        and tone.is_neutral(correction.tone)
        and curves.is_neutral(correction.curves)
        and saturation.is_neutral(correction.saturation)
        and not matte.active(correction.mattes)
    )


def steps(correction: Correction, encoding: Encoding, clamp: bool) -> list[Stage]:
    """The stages from source code to work code, up to the mattes.

    Args:
        clamp: clamp to 0..1 where ASC CDL does; for integer delivery.

    Raises:
        PoiseError: the encoding names an unknown function or primaries.

    Example:
        >>> steps(Correction(), Encoding(), clamp=True)
        []
    """
    order: list[list[Stage]] = [
        light.stages(correction.light, encoding),
        balance.stages(correction.balance, correction.levels, clamp),
        tone.stages(correction.tone, correction.levels.pivot),
        curves.stages(correction.curves),
        saturation.stages(correction.saturation),
    ]
    chain = [stage for operation in order for stage in operation]
    if all(isinstance(stage, Clamp) for stage in chain):
        return []
    return [*chain, Clamp()] if clamp else chain
