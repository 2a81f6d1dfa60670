"""Checks values against the limits of the model, and finds the key path of a violation."""

import re
from typing import TypeVar

import msgspec

from poise.errors import ValueFault

T = TypeVar("T", bound=msgspec.Struct)

_OWN_PLACE = re.compile(r"((?:\.\w+|\[\d+\])+): ")


def checked(value: T) -> T:
    """The same value, checked against every limit of its model.

    Raises:
        ValueFault: a limit is violated; it names the key path and the limit.

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
    """The key path and the reason of a validation error; the path is empty if the error concerns the whole value.

    A check of several values puts the path of the wrong one in front of its reason; that is joined to the key path.

    Example:
        >>> path_and_reason(msgspec.ValidationError(".red[2]: outputs must not fall - at `$.curves`"))
        ('curves.red[2]', 'outputs must not fall')
    """
    reason, _, where = str(fault).partition(" - at `$")
    where = where.rstrip("`")
    if own := _OWN_PLACE.match(reason):
        where, reason = where + own[1], reason[own.end() :]
    return where.lstrip("."), reason
