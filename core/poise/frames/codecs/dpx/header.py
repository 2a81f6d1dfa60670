"""The header of a DPX file, as far as it describes the picture; layouts that poise doesn't correct are refused.

Source: SMPTE ST 268-1, clause 5, tables 1 and 2.
"""

import struct
from dataclasses import dataclass, replace
from pathlib import Path

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.dpx import words
from poise.frames.codecs.shared import Probe, cut_short
from poise.frames.frame import Depth

LENGTH = 2048
UNSET = 0xFFFFFFFF
CHANNELS = {6: 1, 50: 3, 51: 4}
"""The channels of each descriptor that is corrected: luma, RGB, RGBA."""
_OTHER = {
    0: "undefined",
    1: "red",
    2: "green",
    3: "blue",
    4: "alpha",
    7: "colour difference",
    8: "depth",
    9: "composite",
}
_DEPTHS = {8: Depth.U8, 10: Depth.U10, 12: Depth.U12, 16: Depth.U16}
_USED = 820


@dataclass(frozen=True)
class Header:
    """Where the picture is in a file, and how it is stored.

    Attributes:
        order: the byte order, `>` or `<`.
        offset: where the picture begins.
        probe: the summary.
        packing: 0 packed, 1 or 2 filled by method A or B.
        padding: bytes after each row.
    """

    order: str
    offset: int
    probe: Probe
    packing: int
    padding: int

    @property
    def layout(self) -> words.Layout:
        channels, bits = self.probe.channels, self.probe.depth.bits
        values = self.probe.width * channels
        return words.Layout(self.order, values, self.probe.height, bits, self.packing, self.padding, luma=channels == 1)

    def fitted(self, size: int) -> "Header":
        """The same header, with rows padded to 32-bit words if only that agrees with the file's size."""
        padding = -self.layout.row_bytes % 4
        padded = replace(self, padding=padding)
        return padded if not self.padding and size == self.offset + padded.layout.size else self


def parse(path: Path, head: bytes) -> Header:
    """The header at the start of a file.

    Args:
        path: named in errors.
        head: the first LENGTH bytes.

    Raises:
        FrameError: it is cut short or damaged, its picture is over the limits, or it has a layout that is refused.
    """
    if len(head) < _USED:
        raise cut_short(path)
    order = ">" if head[:4] == b"SDPX" else "<"

    def at(offset: int, kind: str) -> int:
        return int(struct.unpack_from(order + kind, head, offset)[0])

    def refuse(what: str) -> FrameError:
        return FrameError(path, f"the DPX holds {what}, which poise doesn't correct; save it as one RGB element")

    elements, descriptor, bits, packing = at(770, "H"), head[800], head[803], at(804, "H")
    width, height = at(772, "I"), at(776, "I")
    limits.possible(path, width, height, CHANNELS.get(descriptor, 1) * (1 if bits <= 8 else 2 if bits <= 16 else 4))
    if elements != 1:
        raise refuse(f"{elements} image elements")
    if descriptor not in CHANNELS:
        raise refuse(f"an element of kind {descriptor} ({_OTHER.get(descriptor, 'YCbCr or another order')})")
    if bits not in _DEPTHS or at(780, "I") == 1:
        raise refuse(f"{'signed ' if at(780, 'I') == 1 else ''}values of {bits} bit")
    if at(806, "H") == 1:
        raise refuse("run-length encoding")
    if at(660, "I") not in (UNSET, 0):
        raise refuse("encrypted data")
    if packing > 2:
        raise refuse(f"packing {packing}")
    offset = at(808, "I") if at(808, "I") not in (UNSET, 0) else at(4, "I")
    padding = at(812, "I") if at(812, "I") != UNSET else 0
    if offset < _USED or padding > 2**20:
        raise FrameError(path, "its header is damaged; copy it again")
    return Header(
        order, offset, Probe(width, height, _DEPTHS[bits], CHANNELS[descriptor], False, "dpx"), packing, padding
    )
