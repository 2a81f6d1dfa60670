"""The guard of clips: checks the boxes of MOV and MP4 before FFmpeg reads them; Matroska and MXF need no such check.

Source: ISO/IEC 14496-12, 4.2 (box).
"""

import struct
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits

_MOST_INDEX = 2**28
"""The largest index of a movie, in bytes; a day at 60 frames per second takes less."""
_OTHERS = (b"\x1a\x45\xdf\xa3", b"\x06\x0e\x2b\x34")


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    path = metadata.path
    if file.read(4) in _OTHERS:
        return
    place, index = 0, False
    for _ in range(limits.MOST_BLOCKS):
        file.seek(place)
        head = file.read(16)
        if len(head) < 8:
            break
        length, name = struct.unpack(">I4s", head[:8])
        if length == 1:
            length = struct.unpack(">Q", head[8:])[0]
        elif length == 0:
            length = size - place
        if length < 8 or place + length > size:
            raise FrameError(path, "the movie is cut short or damaged; copy it again")
        if name == b"moov":
            if length > _MOST_INDEX:
                raise FrameError(
                    path, f"its index takes more than {_MOST_INDEX >> 20} MB, over the limit; save it in parts"
                )
            index = True
        place += length
    if not index:
        raise FrameError(path, "the movie has no index (moov): its recording was not finished; copy or export it again")
