"""Guards: each checks the structure of a file of one format against the limits, before a library reads it.

Picture libraries trust the sizes in a file and allocate that much memory. A guard reads headers only, in pieces of
bounded size, and no pixels.
"""

import struct
from importlib import import_module
from pathlib import Path

from poise.errors import FrameError
from poise.frames import limits


def guard(path: Path, name: str) -> None:
    """Refuse a file that claims more than the limits allow or than it can hold.

    Args:
        name: the name of its format in `poise.frames.codecs.FORMATS`.

    Raises:
        FrameError: the file is refused, cut short, or its structure is broken.
        OSError: the file can't be read.

    Example:
        guard(Path("quay_02.tif"), "tiff")
    """
    with path.open("rb") as file:
        try:
            import_module(f"{__package__}.{name}.guard").check(file, path.stat().st_size, limits.Metadata(path))
        except struct.error as fault:  # unpacking a header that is cut short
            raise FrameError(path, "the file is cut short; copy it again") from fault
