"""What the fidelity suite shares: a picture applied by a known correction, and two files compared block by block.

A reader of a format returns `Blocks`: a name for every block, tag, attribute or header field that a file holds beside
its pixels, with its content as it is stored. It must share no code with the codec that it judges.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from poise.batch.fingerprint import mark
from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import Balance, Correction, Light
from poise.frames.codecs import by_extension

Blocks = Mapping[str, Any]
HALVED = Correction(balance=Balance(slope=(0.5, 0.5, 0.5)))
"""Half the code value, where source and delivery are a display code."""
DARKER = Correction(light=Light(exposure=-1.0))
"""Half the light, for linear files."""


def picture(kind: Any, channels: int, height: int = 36, width: int = 64) -> np.ndarray[Any, Any]:
    """Codes from end to end of an integer type, or light of 0 to 1; (height, width, channels)."""
    rng = np.random.default_rng(channels)
    if np.dtype(kind).kind == "f":
        return rng.random((height, width, channels)).astype(kind)
    return rng.integers(0, np.iinfo(kind).max, (height, width, channels), kind, endpoint=True)


def applied(
    source: Path, correction: Correction = HALVED, stamp: bool = True, **settings: Any
) -> tuple[Path, tuple[str, ...], str | None]:
    """A source as `poise apply` writes it into the folder `out` beside it.

    Returns:
        The output, the notes of what it could not keep, and the stamp that it was to have.
    """
    kind = by_extension(source)
    assert kind is not None
    output = source.parent / "out" / source.name
    form, depth, encoding = (settings.get(name) for name in ("format", "depth", "encoding"))
    job = Job(source, output, correction, encoding, form or kind.name, depth, stamp)
    made = process_frame(job)
    assert isinstance(made, FrameResult), made
    return output, made.notes, mark(job)


def differences(before: Blocks, after: Blocks) -> dict[str, tuple[Any, Any]]:
    """What differs: for each name what stood before and what stands now, None where it is missing."""
    names = sorted(before.keys() | after.keys())
    return {name: (before.get(name), after.get(name)) for name in names if before.get(name) != after.get(name)}


def halved(before: np.ndarray[Any, Any], after: np.ndarray[Any, Any]) -> None:
    """Asserts that codes were halved, (v - 0.5 rounded down), within a code at 16 bit (DESIGN 5), none at 8 or less."""
    expected = np.floor(before.astype(float) / 2 + 0.5)
    assert after.dtype == before.dtype
    assert np.abs(after - expected).max() <= (after.dtype.itemsize > 1)
