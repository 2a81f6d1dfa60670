"""How many random cases a test takes: few as a rule, so that the whole suite stays short, all with POISE_THOROUGH=1."""

import os
from typing import TypeVar

T = TypeVar("T")


def many(usual: T, thorough: T) -> T:
    """So many cases, or such ones."""
    return thorough if os.environ.get("POISE_THOROUGH") else usual
