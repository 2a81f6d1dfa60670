"""Columns that change the encoding, not the correction: source, delivery and range.

They have a bank of their own: a key meant for warmth must not change the delivery encoding.
"""

from typing import Literal

from msgspec.structs import replace

from poise.correction import Encoding

Part = Literal["source", "delivery", "range"]
ENCODING: tuple[Part, ...] = ("source", "delivery", "range")


def cycled(encoding: Encoding, what: str, steps: int, names: tuple[str, ...]) -> Encoding:
    """An encoding with the next or previous transfer function in `names`, or with the other range.

    Example:
        >>> cycled(Encoding(), "range", 1, ()).range
        'narrow'
    """
    if what == "range":
        return replace(encoding, range="narrow" if encoding.range == "full" else "full")
    present = getattr(encoding, what)
    place = names.index(present) if present in names else 0
    return replace(encoding, **{what: names[(place + steps) % len(names)]})


def put_home(encoding: Encoding, what: str, default: Encoding) -> Encoding:
    """An encoding with one part reset to the default of the file."""
    return replace(encoding, **{what: getattr(default, what)})
