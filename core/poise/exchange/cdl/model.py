"""The ten numbers of an ASC CDL, and one correction as in a file."""

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
        """The equivalent correction; its limits are not checked."""
        return Correction(balance=Balance(self.slope, self.offset, self.power), saturation=self.saturation)


@dataclass(frozen=True)
class Entry:
    """One ColorCorrection.

    Attributes:
        id: None if the file has none.
        media: the paths or URIs in the MediaRefs of its ColorDecision.
        descriptions: the Descriptions of its SOPNode, in order.
        input, viewing: the InputDescription and ViewingDescription: the codes of its input and output.
    """

    id: str | None
    cdl: Cdl
    media: tuple[str, ...] = ()
    descriptions: tuple[str, ...] = ()
    input: str = ""
    viewing: str = ""
