"""Saturation given back after the range was stretched."""

SHARE = 0.2
MOST = 1.15


def solve_saturation(gain: float) -> float:
    """A fifth of what the range was stretched by, at most 15 per cent (common practice, no source).

    Example:
        >>> solve_saturation(1.0), solve_saturation(1.5), solve_saturation(3.0)
        (1.0, 1.1, 1.15)
    """
    return round(min(max(1 + SHARE * (gain - 1), 1.0), MOST), 3)
