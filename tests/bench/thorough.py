"""How many random cases a test takes: few as a rule, so that the whole suite stays short, all with POISE_THOROUGH=1."""

import os


def many(usual: int, thorough: int) -> int:
    """So many cases."""
    return thorough if os.environ.get("POISE_THOROUGH") else usual
