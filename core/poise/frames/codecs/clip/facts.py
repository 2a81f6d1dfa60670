"""The properties of a clip that its headers state, and the encoding that follows from them.

Code points of primaries, transfer function and matrix: ITU-T H.273, tables 2 to 4.
"""

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from poise.frames.clip_frame import Codes
from poise.frames.frame import Depth
from poise.frames.tags import Tags

TRANSFERS = {
    1: "ITU-R BT.709",
    4: "Gamma 2.2",
    6: "ITU-R BT.709",
    8: "linear",
    13: "sRGB",
    14: "ITU-R BT.2020",
    15: "ITU-R BT.2020",
    16: "ITU-R BT.2100 PQ",
    18: "ITU-R BT.2100 HLG",
}
PRIMARIES = {
    1: "ITU-R BT.709",
    5: "ITU-R BT.470 - 625",
    6: "SMPTE C",
    7: "SMPTE 240M",
    9: "ITU-R BT.2020",
    11: "DCI-P3",
    12: "P3-D65",
}
MATRICES = {1: "BT.709", 5: "BT.601", 6: "BT.601", 9: "BT.2020"}
REFUSED = {4: "FCC", 7: "SMPTE 240M", 8: "YCgCo", 10: "BT.2020 with constant luminance", 14: "ICtCp"}
UNSPECIFIED = 2
_SD = 576
"""The largest number of rows of standard definition (ITU-R BT.601-7)."""


@dataclass(frozen=True)
class Facts:
    """The properties of a clip that its headers state.

    Attributes:
        container, codec, profile: as FFmpeg names them, such as `mov`, `prores` and `HQ`.
        width, height: in pixels, as stored, without rotation.
        depth: of its codes.
        channels: 1, 3 or 4.
        layout: its pixel format, as FFmpeg names it, such as `yuv422p10le`.
        matrix: BT.601, BT.709, BT.2020, RGB or grey.
        tags: its encoding, with defaults for missing tags.
        assumed: the missing tags, each with the default that is used.
        rate: in frames per second; None if unknown.
        timecode: of its first frame; empty if it has none.
        seconds: its duration.
        interlaced: whether a frame consists of two fields.
        sound: the number of audio tracks.
    """

    container: str
    codec: str
    profile: str
    width: int
    height: int
    depth: Depth
    channels: int
    layout: str
    matrix: str
    tags: Tags
    assumed: tuple[str, ...]
    rate: Fraction | None
    timecode: str
    seconds: float
    interlaced: bool
    sound: int

    @property
    def notes(self) -> tuple[str, ...]:
        """Notes for the user on its pictures."""
        notes = [f"its header doesn't state the {what}" for what in self.assumed]
        if self.interlaced:
            notes.append("its frames are interlaced; they are corrected without deinterlacing")
        return tuple(notes)

    def under(self, codes: Codes) -> "Facts":
        """The same facts with the range, and the matrix if one is given, overruled; RGB and grey have no matrix."""
        matrix = codes.matrix if codes.matrix and self.matrix in MATRICES.values() else self.matrix
        overruled = ("range", *(("matrix",) if codes.matrix else ()))
        assumed = tuple(one for one in self.assumed if not one.startswith(overruled))
        return replace(self, matrix=matrix, tags=replace(self.tags, range=codes.range), assumed=assumed)


def encoding(
    matrix: int, range: int, primaries: int, transfer: int, rgb: bool, height: int
) -> tuple[str, Tags, tuple[str, ...]]:
    """The matrix and tags for the code points of a header, and the defaults that were used for missing ones.

    Args:
        matrix, primaries, transfer: code points of ITU-T H.273.
        range: 1 narrow, 2 full, 0 unspecified.
        rgb: whether its components are red, green and blue.
        height: in rows; the default matrix is BT.601 up to 576 rows, else BT.709.

    Example:
        >>> encoding(2, 1, 2, 1, False, 1080)[::2]
        ('BT.709', ('matrix; BT.709 is used for 1080 rows',))
    """
    assumed = []
    usual = "BT.601" if height <= _SD else "BT.709"
    name = "RGB" if rgb else MATRICES.get(matrix, usual)
    if not rgb and matrix not in MATRICES:
        assumed.append(f"matrix; {usual} is used for {height} rows")
    if range not in (1, 2) and not rgb:
        assumed.append("range; narrow is used")
    narrow = range == 1 or (range != 2 and not rgb)
    tags = Tags(
        TRANSFERS.get(transfer, "ITU-R BT.709"),
        PRIMARIES.get(primaries, "ITU-R BT.2020" if name == "BT.2020" else "ITU-R BT.709"),
        "narrow" if narrow else "full",
    )
    if transfer not in (*TRANSFERS, UNSPECIFIED):
        assumed.append("transfer function by a code point that poise knows; BT.709 is used")
    return name, tags, tuple(assumed)


def timecode(start: str, rate: Fraction | None, frames: int) -> str:
    """The timecode a number of frames after a start.

    A `;` before the frames marks drop-frame timecode, which skips the first two numbers (at 60 frames per second, four)
    of every minute except each tenth (SMPTE ST 12-1, 5.2).

    Args:
        start: `HH:MM:SS:FF`, or with `;` or `.` before the frames.
        rate: in frames per second.
        frames: the number of frames after the start.

    Returns:
        Empty if the start is no timecode, or the rate is unknown.

    Example:
        >>> timecode("10:00:00:24", Fraction(25), 1), timecode("00:00:59;29", Fraction(30000, 1001), 1)
        ('10:00:01:00', '00:01:00;02')
    """
    found = re.fullmatch(r"(\d\d):(\d\d):(\d\d)([:;.])(\d\d)", start)
    if not found or not rate:
        return ""
    hour, minute, second, last = (int(found[place]) for place in (1, 2, 3, 5))
    each, mark = round(rate), found[4]
    drop = each // 15 if mark in ";." else 0
    minutes = 60 * hour + minute
    count = (60 * minutes + second) * each + last - drop * (minutes - minutes // 10) + frames
    tens, rest = divmod(count, 600 * each - 9 * drop)
    count += drop * (9 * tens + max(rest - drop, 0) // (60 * each - drop))
    seconds = count // each
    return f"{seconds // 3600 % 24:02}:{seconds // 60 % 60:02}:{seconds % 60:02}{mark}{count % each:02}"
