"""Further pictures in a JPEG file, such as a gain map: their places, and the metadata that announces a gain map.

Sources: CIPA DC-007-2009, 5.2.2 (MP header) and 5.2.3.3 (MP entry); ISO 21496-1, annex C (the name of its JPEG
segment); Adobe's gain map specification 1.0 and the GContainer schema (the XMP of a picture with a gain map).
"""

import re
import struct

GAIN = b"urn:iso:std:iso:ts:21496:-1\0"
_MARKS = re.compile(rb"""\s+hdrgm:\w+\s*=\s*(?:"[^"]*"|'[^']*')|<hdrgm:(\w+)\b.*?</hdrgm:\1\s*>""", re.DOTALL)
_ITEM = re.compile(rb"""<rdf:li\b(?:(?!</rdf:li).)*?Semantic["'=>\s]+GainMap\b.*?</rdf:li\s*>\s*""", re.DOTALL)
_ENTRIES = 0xB002


def spans(body: bytes, start: int, data: bytes) -> list[tuple[int, int]]:
    """The start and end of each further picture listed in an MPF segment, in order; invalid entries are left out.

    Args:
        body: the content of the segment.
        start: the place of that content in the file.
        data: the whole file.
    """
    header = start + 4
    try:
        order = {b"II*\0": "<", b"MM\0*": ">"}[body[4:8]]
        (directory,) = struct.unpack_from(f"{order}I", body, 8)
        (count,) = struct.unpack_from(f"{order}H", body, 4 + directory)
        for at in range(4 + directory + 2, 4 + directory + 2 + 12 * count, 12):
            tag, _, size, place = struct.unpack_from(f"{order}HHII", body, at)
            if tag == _ENTRIES:
                listed = [struct.unpack_from(f"{order}4xII", body, 4 + place + n) for n in range(0, size - 15, 16)]
                found = sorted((header + offset, header + offset + length) for length, offset in listed if offset)
                return [(low, high) for low, high in found if data[low : low + 2] == b"\xff\xd8" and high <= len(data)]
    except (KeyError, struct.error):
        pass
    return []


def without(data: bytes, start: int, pictures: list[tuple[int, int]]) -> bytes:
    """The data of a file from a place on, without these pictures."""
    kept = []
    for low, high in pictures:
        if low >= start:
            kept.append(data[start:low])
            start = high
    return b"".join([*kept, data[start:]])


def names_gain_map(xmp: bytes) -> bool:
    """Whether XMP says that the file holds a gain map."""
    return _MARKS.search(xmp) is not None


def without_gain_map(xmp: bytes) -> bytes:
    """XMP without the statement that the file holds a gain map; every other byte stays."""
    return _ITEM.sub(b"", _MARKS.sub(b"", xmp))
