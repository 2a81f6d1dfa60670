"""What a picture's own header says about the encoding of its codes."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Tags:
    """The encoding of a picture's codes by its header.

    Attributes:
        transfer, primaries: by the names that colour-science registers, or "linear".
        range: of the codes.
    """

    transfer: str
    primaries: str
    range: Literal["full", "narrow"]
