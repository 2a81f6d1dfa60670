"""Natural order of names: numbers inside them are compared as numbers, so `quay_2` comes before `quay_10`."""

import re

_DIGITS = re.compile("([0-9]+)")


def natural(name: str) -> tuple[list[str | int], str]:
    """The sort key of a name in natural order, ignoring case.

    Example:
        >>> sorted(["quay_10.tif", "Quay_2.tif"], key=natural)
        ['Quay_2.tif', 'quay_10.tif']
    """
    parts: list[str | int] = list(_DIGITS.split(name.casefold()))
    parts[1::2] = [int(part) for part in parts[1::2]]
    return parts, name
