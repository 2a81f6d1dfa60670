"""Whether a picture that is taken for display code could be log code."""

from poise.correction import CODED, Encoding
from poise.scopes import Readings

_FLOOR, _FLAT, _REACH, _COLOUR = 4.0, 15.0, 62.0, 9.0
"""Per cent: black above, range between and mean chroma below which display code is seldom found; log code of scenes of
usual contrast has all of them (common practice, no source). A card or a wall has less range."""


def looks_flat(readings: Readings, encoding: Encoding) -> bool:
    """Whether a picture taken for display code is as flat as log code; a hint, since fog is flat as well."""
    luma = readings.luma
    return (
        encoding.source == CODED.source
        and luma.black > _FLOOR
        and _FLAT < luma.white - luma.black < _REACH
        and readings.saturation < _COLOUR
    )
