"""Faults of outliers: shots whose levels differ from the reel by more than the limit."""

from collections.abc import Sequence

from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.scopes import Readings, compared
from poise.scopes.reel import Reason


def faults(shots: Sequence[tuple[str, Readings]], limits: Limits) -> list[Fault]:
    """The faults of outliers, each with its largest deviation."""
    limit = limits["apart"]
    if limit is None:
        return []
    reel = compared([readings for _, readings in shots], limit.value)
    found: list[Fault] = []
    for place, (file, _) in enumerate(shots):
        if reasons := reel.reasons(place):
            found += limits.check(file, "apart", abs(reasons[0].score), describe(reasons))
    return found


def describe(reasons: Sequence[Reason]) -> str:
    """Why a shot is an outlier, and what to do."""
    more = f" and {len(reasons) - 1} more" if len(reasons) > 1 else ""
    return f"it differs from the reel: {reasons[0]}{more}; match it, or leave it if it is meant to differ"
