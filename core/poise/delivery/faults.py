"""All checks of one shot and of a reel together: pure functions from readings to faults."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from poise.correction.model import Encoding
from poise.delivery import clipping, consistency, levels, outliers, signal_range
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.delivery.signal_range import R103, ends
from poise.frames.frame import Depth
from poise.scopes import Readings

if TYPE_CHECKING:
    from poise.delivery.examine import ExaminedFrame
    # importing it loads the engine, which the app opens without


def faults_of(file: str, found: "ExaminedFrame", limits: Limits) -> tuple[Fault, ...]:
    """The faults of one picture as it would be delivered, regardless of the reel.

    Example:
        faults_of("quay_02.tif", examine(frame, correction, encoding, limits), limits)
    """
    return (
        *signal_range.faults(file, found.outside, found.within, found.encoding, limits, found.range_unknown),
        *clipping.faults(file, found.loss, limits),
        *levels.faults(file, found.readings, limits),
    )


def faults_of_reel(shots: "Sequence[tuple[str, ExaminedFrame]]", limits: Limits) -> tuple[Fault, ...]:
    """The faults of shots in comparison: sizes, depths, layouts and encodings that differ, and outliers.

    Args:
        shots: each with its name, in order.
    """
    return (*consistency.faults(shots, limits), *outliers.faults([(name, one.readings) for name, one in shots], limits))


def faults_of_readings(
    file: str, readings: Readings, loss: clipping.ClippingLoss, encoding: Encoding, depth: Depth, limits: Limits
) -> tuple[Fault, ...]:
    """The same faults by the readings of a sample of the picture.

    Args:
        readings: of the corrected sample.
        loss: what the correction crushes and clips in it.
    """
    lowest, highest = limits["lowest"], limits["highest"]
    within = ends(lowest.value, highest.value, encoding.range, depth) if lowest and highest else None
    # readings count pixels outside the ends of EBU R 103 only
    share = readings.outside if within and (lowest and lowest.value, highest and highest.value) == R103 else 0.0
    return (
        *signal_range.faults(file, share, within, encoding, limits),
        *clipping.faults(file, loss, limits),
        *levels.faults(file, readings, limits),
    )
