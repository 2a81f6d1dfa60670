"""What a picture's own header says about the encoding of its codes, and about its place in time."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal


@dataclass(frozen=True)
class Tags:
    """The encoding of a picture's codes by its header.

    Attributes:
        transfer, primaries: by the names that colour-science registers, or "linear".
        range: of the codes.
        rate: frames a second; None if the header doesn't tell.
        timecode: of the frame (SMPTE ST 12-1); empty if the header doesn't tell.
    """

    transfer: str
    primaries: str
    range: Literal["full", "narrow"]
    rate: Fraction | None = None
    timecode: str = ""
