"""Checking values against the limits of the model, and where in it a fault is."""

import re
from typing import TypeVar

import msgspec

from poise.errors import ValueFault

T = TypeVar("T", bound=msgspec.Struct)

_OWN_PLACE = re.compile(r"((?:\.\w+|\[\d+\])+): ")


def checked(value: T) -> T:
    """The same value, once every limit of the model holds.

    Raises:
        ValueFault: names the key path and the limit.

    Example:
        >>> from poise.correction import Light
        >>> checked(Light(exposure=99))
        Traceback (most recent call last):
        ...
        poise.errors.ValueFault: exposure: Expected `float` <= 8.0
    """
    try:
        return msgspec.convert(msgspec.to_builtins(value), type(value))
    except msgspec.ValidationError as fault:
        where, reason = path_and_reason(fault)
        raise ValueFault(where or type(value).__name__.lower(), reason) from None


def path_and_reason(fault: msgspec.ValidationError) -> tuple[str, str]:
    """The key path and the reason of a fault; the path is empty where the fault is of the whole.

    A check of several values at once says which of them is at fault in front of its reason.

    Example:
        >>> path_and_reason(msgspec.ValidationError(".red[2]: outputs must not fall - at `$.curves`"))
        ('curves.red[2]', 'outputs must not fall')
    """
    reason, _, where = str(fault).partition(" - at `$")
    where = where.rstrip("`")
    if own := _OWN_PLACE.match(reason):
        where, reason = where + own[1], reason[own.end() :]
    return where.lstrip("."), reason
