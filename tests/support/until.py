"""Waiting for a condition, never for a fixed time: as long as it takes, within a limit that only a fault reaches."""

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from textual.pilot import Pilot

T = TypeVar("T")
LIMIT = 120.0
"""Seconds; a machine that does much else makes everything a few times slower."""
EVERY = 0.02
"""Seconds between two looks, which cost something: an app draws its whole screen for one."""


def until(true: Callable[[], T], told: Callable[[], object] = lambda: "") -> T:
    """Waits until a condition holds, and returns what it gave.

    Args:
        told: what the failure says beside, such as what a screen shows.

    Example:
        until(lambda: (folder / "quay_01.png").exists())
    """
    limit = time.monotonic() + LIMIT
    while not (found := true()):
        assert time.monotonic() < limit, f"it never came: {told()}"
        time.sleep(EVERY)
    return found


async def until_in(pilot: "Pilot[int]", true: Callable[[], T], told: Callable[[], object] = lambda: "") -> T:
    """The same in an app that textual's pilot drives."""
    limit = time.monotonic() + LIMIT
    while not (found := true()):
        assert time.monotonic() < limit, f"it never came: {told()}"
        await pilot.pause(EVERY)
    return found
