"""The words of DPX picture data: converts codes to and from 8, 10, 12 and 16 bit packings, exactly.

Source: SMPTE ST 268-1, annex C: packed into 32-bit words from the low end, or filled with padding after (method A) or
before (method B) the codes. As common readers do, rows of 8, 16 and filled 12 bit follow each other without a gap, and
the first of three luma codes in a word is in its low bits.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.frames.frame import Pixels

Bytes = npt.NDArray[np.uint8]
_PACKED, _METHOD_A = 0, 1
_STRIP = 32
"""Rows at a time, few enough for the processor's cache."""


@dataclass(frozen=True)
class Layout:
    """How codes are stored in a file.

    Attributes:
        order: `>` or `<`, the byte order of words.
        values: codes in a row, of all channels.
        rows: the number of rows.
        bits: 8, 10, 12 or 16.
        packing: 0 packed, 1 filled by method A, 2 by method B.
        padding: bytes after each row.
        luma: whether there is one channel, which reverses the order within a filled 10-bit word.
    """

    order: str
    values: int
    rows: int
    bits: int
    packing: int
    padding: int
    luma: bool = False

    @property
    def row_bytes(self) -> int:
        """Bytes of a row without its padding."""
        if self.bits == 10 and self.packing != _PACKED:
            return -(-self.values // 3) * 4
        if self.bits in (10, 12) and self.packing == _PACKED:
            return -(-self.values * self.bits // 32) * 4
        return self.values * (1 if self.bits == 8 else 2)

    @property
    def size(self) -> int:
        return self.rows * (self.row_bytes + self.padding)

    @property
    def shifts(self) -> tuple[int, ...]:
        """The bit offsets of the three 10-bit codes in a filled word, first to last."""
        shifts = (22, 12, 2) if self.packing == _METHOD_A else (20, 10, 0)
        return shifts[::-1] if self.luma else shifts

    @property
    def group(self) -> tuple[int, int]:
        """The codes and bytes after which a packed row is at the start of a byte again."""
        return (4, 5) if self.bits == 10 else (2, 3)


def unpack(data: Bytes, layout: Layout) -> Pixels:
    """The codes in the bytes of a file, (rows, values), uint8 or uint16."""
    rows = data.reshape(layout.rows, layout.row_bytes + layout.padding)[:, : layout.row_bytes]
    if layout.bits == 8:
        return np.ascontiguousarray(rows[:, : layout.values])
    codes = np.empty((layout.rows, layout.values), np.uint16)
    for start in range(0, layout.rows, _STRIP):
        strip = np.ascontiguousarray(rows[start : start + _STRIP])
        _unpack(strip, layout, codes[start : start + _STRIP])
    return codes


def pack(codes: Pixels, layout: Layout) -> Bytes:
    """The bytes of a file for codes, (rows, values)."""
    data = np.zeros((layout.rows, layout.row_bytes + layout.padding), np.uint8)
    if layout.bits == 8:
        data[:, : layout.values] = codes
        return data
    for start in range(0, layout.rows, _STRIP):
        part = slice(start, start + _STRIP)
        data[part, : layout.row_bytes] = _pack(codes[part], layout)
    return data


def _unpack(strip: Bytes, layout: Layout, codes: Pixels) -> None:
    if layout.bits == 16 or (layout.bits == 12 and layout.packing != _PACKED):
        codes[:] = strip.view(f"{layout.order}u2")[:, : layout.values]
        if layout.bits == 12:
            np.right_shift(codes, 4 if layout.packing == _METHOD_A else 0, out=codes)
            np.bitwise_and(codes, 0xFFF, out=codes)
    elif layout.packing != _PACKED:
        words = strip.view(f"{layout.order}u4").astype(np.uint32)
        for place, shift in enumerate(layout.shifts):
            target = codes[:, place::3]
            target[:] = ((words >> shift) & 0x3FF)[:, : target.shape[1]]
    else:
        each, size = layout.group
        stream = strip.view(f"{layout.order}u4").astype("<u4").view(np.uint8)
        stream = np.pad(stream, ((0, 0), (0, -stream.shape[1] % size))).reshape(len(strip), -1, size).astype(np.uint16)
        for place in range(each):
            byte, bit = divmod(place * layout.bits, 8)
            pair = stream[..., byte] >> bit | stream[..., byte + 1] << (8 - bit)
            target = codes[:, place::each]
            target[:] = (pair & (2**layout.bits - 1))[:, : target.shape[1]]


def _pack(codes: Pixels, layout: Layout) -> Bytes:
    count = len(codes)
    if layout.bits == 16 or (layout.bits == 12 and layout.packing != _PACKED):
        wide = np.zeros((count, layout.row_bytes // 2), f"{layout.order}u2")
        wide[:, : layout.values] = codes << (4 if layout.bits == 12 and layout.packing == _METHOD_A else 0)
        return wide.view(np.uint8)
    if layout.packing != _PACKED:
        words = np.zeros((count, layout.row_bytes // 4), np.uint32)
        for place, shift in enumerate(layout.shifts):
            source = codes[:, place::3].astype(np.uint32)
            words[:, : source.shape[1]] |= source << shift
        return words.astype(f"{layout.order}u4").view(np.uint8)
    each, size = layout.group
    stream = np.zeros((count, -(-layout.values // each) + 4, size), np.uint16)
    for place in range(each):
        byte, bit = divmod(place * layout.bits, 8)
        source = codes[:, place::each]
        stream[:, : source.shape[1], byte] |= source << bit & 0xFF
        stream[:, : source.shape[1], byte + 1] |= source >> (8 - bit)
    words = np.ascontiguousarray(stream.astype(np.uint8).reshape(count, -1)[:, : layout.row_bytes]).view("<u4")
    return words.astype(f"{layout.order}u4").view(np.uint8)
