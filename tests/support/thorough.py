"""How thorough a run is: few random cases and no slow extras as a rule, all with POISE_THOROUGH=1 (or `--thorough`).

A larger number takes that many times as many random cases: POISE_THOROUGH=20 pytest tests/fuzz/test_pictures.py
"""

import os
from typing import TypeVar

T = TypeVar("T")
TIMES = int(os.environ.get("POISE_THOROUGH") or 0)


def many(usual: T, thorough: T) -> T:
    """So many cases, or such ones."""
    if not TIMES:
        return usual
    if isinstance(thorough, int) and isinstance(usual, int) and thorough > usual:
        return thorough * TIMES
    return thorough
