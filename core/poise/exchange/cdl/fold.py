"""Folds a correction into the ten numbers of one ASC CDL, and names the parts that don't fit."""

from poise.chain import balance, curves, light, matte, order, saturation, tone
from poise.chain.stage import Array
from poise.correction.model import CODED, Correction, Encoding
from poise.exchange.cdl.model import Cdl, Triple


def parts_beyond_cdl(correction: Correction, encoding: Encoding) -> tuple[str, ...]:
    """The parts of a correction that no CDL represents, as text; none if `fold` is exact.

    A CDL applies to full-range code. For integer pictures poise clamps as ASC CDL does; for float pictures it does not
    clamp at all, and power skips a negative base.

    Example:
        >>> from poise.correction import Light
        >>> parts_beyond_cdl(Correction(light=Light(exposure=1)), Encoding())
        ('light',)
    """
    if order.is_neutral(correction, encoding):
        return ()
    coded = balance.is_neutral(correction.balance, correction.levels) and saturation.is_neutral(correction.saturation)
    parts = {
        "light": not light.is_affine(correction.light, encoding),
        f"balance in {encoding.work} code of linear light": encoding.delivery != encoding.work and not coded,
        "tone": not tone.is_neutral(correction.tone),
        "curves": not curves.is_neutral(correction.curves),
        "mattes": bool(matte.active(correction.mattes)),
        f"conversion from {encoding.source} to {encoding.delivery}": encoding.source != encoding.delivery,
        f"conversion from {encoding.primaries} to {encoding.work_primaries}": encoding.primaries
        != encoding.work_primaries,
    }
    return tuple(name for name, there in parts.items() if there)


def fold(correction: Correction, encoding: Encoding = CODED) -> Cdl:
    """Fold flare in code, balance, levels and saturation into one CDL; everything else is left out.

    Example:
        >>> from poise.correction import Levels
        >>> fold(Correction(levels=Levels(white=0.5))).slope
        (2.0, 2.0, 2.0)
    """
    before, below = light.affine_in_code(correction.light, encoding)
    slope, offset = balance.affine(correction.balance, correction.levels)

    def triple(values: Array) -> Triple:
        red, green, blue = (float(value) for value in values)
        return red, green, blue

    return Cdl(triple(slope * before), triple(slope * below + offset), correction.balance.power, correction.saturation)
