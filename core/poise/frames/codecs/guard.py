"""Guards: each walks through a file of one format by its structure alone, and refuses what goes beyond the limits.

Picture libraries believe what a file says about itself and ask for that much memory. So every file is walked through
before one of them sees it; a guard reads headers only, in pieces that are bounded, and holds no pixels.
"""

import struct
from importlib import import_module
from pathlib import Path

from poise.errors import FrameError
from poise.frames import limits


def guard(path: Path, name: str) -> None:
    """Refuses a file that claims more than the limits allow, or than it can hold.

    Args:
        name: of the format, as in `poise.frames.codecs.FORMATS`.

    Raises:
        FrameError: it does, or its structure is broken.
        OSError: it can't be read.

    Example:
        guard(Path("quay_02.tif"), "tiff")
    """
    with path.open("rb") as file:
        try:
            import_module(f"{__package__}.{name}.guard").check(file, path.stat().st_size, limits.Metadata(path))
        except struct.error as fault:  # a header of which less was left than it takes
            raise FrameError(path, "the file is cut short; copy it again") from fault
