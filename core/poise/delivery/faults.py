"""All checks of one shot, and of a reel, together: from what was read off pictures to faults; pure."""

from collections.abc import Sequence

from poise.delivery import alike, apart, levels, lost, signal_range
from poise.delivery.examined import Examined
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits


def faults_of(file: str, found: Examined, limits: Limits) -> tuple[Fault, ...]:
    """What is wrong with one picture as it would be delivered, taken alone.

    Example:
        faults_of("quay_02.tif", examine(frame, correction, encoding, limits), limits)
    """
    return (
        *signal_range.faults(file, found.outside, found.within, found.encoding, limits, found.taken),
        *lost.faults(file, found.lost, limits),
        *levels.faults(file, found.readings, limits),
    )


def faults_of_reel(shots: Sequence[tuple[str, Examined]], limits: Limits) -> tuple[Fault, ...]:
    """What is wrong with shots beside each other: other sizes, depths, layouts and encodings, and levels apart.

    Args:
        shots: each with its name, in order.
    """
    return (*alike.faults(shots, limits), *apart.faults([(name, one.readings) for name, one in shots], limits))
