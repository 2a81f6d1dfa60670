"""Facts about a clip from its headers, and the encoding that they imply.

Code points of matrix, primaries and transfer: ITU-T H.273, tables 2 to 4.
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
"""Rows of a picture of standard definition at most (ITU-R BT.601-7)."""


@dataclass(frozen=True)
class Facts:
    """What the headers of a clip say.

    Attributes:
        container, codec: the names of FFmpeg's libraries, such as `mov` and `prores`; `profile` is the codec's own.
        width, height: in pixels, as stored.
        layout: the layout of its planes, such as `yuv422p10le`.
        matrix: BT.601, BT.709, BT.2020, or RGB.
        tags: its encoding, by its own tags or in place of missing ones.
        assumed: what it doesn't tell, with what is taken instead.
        rate: frames a second; None if it has none.
        timecode: of its first frame, or empty.
        seconds: its duration.
        interlaced: whether its frames are two fields.
        sound: number of sound tracks.
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
        """What a person should know about its pictures."""
        notes = [f"its header doesn't say the {what}" for what in self.assumed]
        if self.interlaced:
            notes.append("its frames are interlaced; they are corrected as they are")
        return tuple(notes)

    def under(self, codes: Codes) -> "Facts":
        """The same facts with a matrix and a range in place of those of the tags; RGB and grey have no matrix."""
        matrix = codes.matrix if codes.matrix and self.matrix in MATRICES.values() else self.matrix
        told = ("range", *(("matrix",) if codes.matrix else ()))
        assumed = tuple(one for one in self.assumed if not one.startswith(told))
        return replace(self, matrix=matrix, tags=replace(self.tags, range=codes.range), assumed=assumed)


def encoding(
    matrix: int, range: int, primaries: int, transfer: int, rgb: bool, height: int
) -> tuple[str, Tags, tuple[str, ...]]:
    """Matrix and tags by the code points of a header, and what was assumed in place of missing ones.

    Args:
        range: 1 narrow, 2 full, 0 not told.
        rgb: whether its planes are red, green and blue.
        height: in rows; up to 576 a missing matrix is that of BT.601, else that of BT.709.

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
        assumed.append("transfer function by a name that poise knows; BT.709 is used")
    return name, tags, tuple(assumed)


def timecode(start: str, rate: Fraction | None, frames: int) -> str:
    """The timecode some frames after another; empty if either is unknown.

    A `;` before the frames marks drop frame, which leaves out the first two counts (at 60, four) of every minute but
    each tenth (SMPTE ST 12-1, 5.2).

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
