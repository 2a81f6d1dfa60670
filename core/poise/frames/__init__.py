"""Pictures in and out: finds shots in folders, reads files to frames, and writes frames to files.

Importing this loads nothing heavy: numpy comes with `Frame` and `Depth`, picture libraries with the first file read.
"""

from typing import TYPE_CHECKING

from poise.frames.proxy import proxy
from poise.frames.scan import scan
from poise.frames.shots import Listing, Problem, Shot
from poise.frames.store import probe, read, write

if TYPE_CHECKING:
    from poise.frames.codecs.shared import Probe
    from poise.frames.frame import Depth, Frame

__all__ = ["Depth", "Frame", "Listing", "Probe", "Problem", "Shot", "probe", "proxy", "read", "scan", "write"]


def __getattr__(name: str) -> object:
    if name in ("Depth", "Frame"):
        from poise.frames import frame

        return getattr(frame, name)
    if name == "Probe":
        from poise.frames.codecs.shared import Probe

        return Probe
    raise AttributeError(name)
