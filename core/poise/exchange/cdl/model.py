"""The ten numbers of an ASC CDL, and one correction as it stands in a file."""

from dataclasses import dataclass

from poise.correction.model import Balance, Correction

Triple = tuple[float, float, float]


@dataclass(frozen=True)
class Cdl:
    """Slope, offset and power of red, green and blue, and saturation (ASC CDL v1.2), in code value.

    Example:
        >>> Cdl(saturation=1.1).correction.saturation
        1.1
    """

    slope: Triple = (1.0, 1.0, 1.0)
    offset: Triple = (0.0, 0.0, 0.0)
    power: Triple = (1.0, 1.0, 1.0)
    saturation: float = 1.0

    @property
    def correction(self) -> Correction:
        """The correction that does just this; its limits are not checked."""
        return Correction(balance=Balance(self.slope, self.offset, self.power), saturation=self.saturation)


@dataclass(frozen=True)
class Entry:
    """One ColorCorrection.

    Attributes:
        id: None where the file gives none.
        media: what it is for, each a path or URI as it stands in the MediaRef of a ColorDecision.
        told: the Descriptions of its SOPNode, in order.
        input, viewing: the code that it works on, and the one that comes out, in words.
    """

    id: str | None
    cdl: Cdl
    media: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    input: str = ""
    viewing: str = ""
