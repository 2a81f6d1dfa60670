"""TIFF files for the fidelity suite: written by struct; read by tifffile (tags) and Pillow (directories below).

Source: TIFF 6.0 section 2; BigTIFF as libtiff documents it.
"""

import struct
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from blocks import Blocks
from PIL.TiffImagePlugin import ImageFileDirectory_v2

Tag = tuple[int, int, bytes | tuple["Tag", ...]]
"""Code, type and value, or for a pointer the directory below."""
SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
PLACES = {273: "strips", 279: "strips", 324: "tiles", 325: "tiles"}
POINTERS = {34665: "Exif", 34853: "GPS", 40965: "interoperability", 400: "global", 65100: "private"}


def build(path: Path, tags: list[Tag], pixels: np.ndarray[Any, Any], order: str = "<", big: bool = False) -> Path:
    """An uncompressed TIFF of (height, width, channels), one strip, with these tags besides those of the picture."""
    height, width, channels = pixels.shape
    stored = pixels.astype(pixels.dtype.newbyteorder(order)).tobytes()
    letter, wide = ("Q", 8) if big else ("I", 4)

    def short(code: int, *values: int) -> Tag:
        return code, 3, struct.pack(f"{order}{len(values)}H", *values)

    own = [short(256, width), short(257, height), short(258, *[pixels.dtype.itemsize * 8] * channels), short(259, 1)]
    own += [short(262, 2 if channels > 2 else 1), short(277, channels), short(284, 1)]
    own += [(278, 4, struct.pack(f"{order}I", 2**32 - 1))]  # as many programs write it: all rows in one strip
    own += [(279, 4, struct.pack(f"{order}I", len(stored)))]
    data = bytearray(b"II" if order == "<" else b"MM")
    data += struct.pack(f"{order}HHH", 43, 8, 0) if big else struct.pack(f"{order}H", 42)
    first = len(data)
    data += bytes(wide)
    own += [(273, 4, struct.pack(f"{order}I", len(data)))]
    data += stored
    given = {tag[0] for tag in tags}

    def directory(entries: list[Tag]) -> int:
        fields = b""
        for code, kind, value in sorted(entries, key=lambda tag: tag[0]):
            count = 1
            if isinstance(value, tuple):
                value = struct.pack(f"{order}{'Q' if SIZES[kind] == 8 else 'I'}", directory(list(value)))
            else:
                count = len(value) // SIZES.get(kind, 1)
            if len(value) > wide:
                data.extend(bytes(len(data) % 2))
                value, place = struct.pack(order + letter, len(data)), value
                data.extend(place)
            fields += struct.pack(f"{order}HH{letter}", code, kind, count) + value.ljust(wide, b"\0")
        data.extend(bytes(len(data) % 2))
        place = len(data)
        data.extend(struct.pack(f"{order}{'Q' if big else 'H'}", len(entries)) + fields + bytes(wide))
        return place

    struct.pack_into(order + letter, data, first, directory([tag for tag in own if tag[0] not in given] + tags))
    path.write_bytes(data)
    return path


def blocks(path: Path) -> Blocks:
    """The head of a TIFF file and every tag as (type, count, bytes); of strips and tiles only how many there are."""
    data = path.read_bytes()
    with tifffile.TiffFile(path) as tif:
        pages = [page for page in tif.pages if not page.subfiletype & 1]
        order, found = tif.byteorder, {"head": data[:4], "pages": len(tif.pages)}
        for tag in pages[0].tags:
            if tag.code in PLACES:
                found[f"{PLACES[tag.code]} by {tag.name}"] = tag.count
            elif tag.code in POINTERS:
                field = tag.offset + (12 if tif.is_bigtiff else 8)
                value = data[field : field + SIZES[int(tag.dtype)]]
                offset = int.from_bytes(value, "little" if order == "<" else "big")
                found |= _below(data, offset, POINTERS[tag.code])
            else:
                value = data[tag.valueoffset : tag.valueoffset + tag.valuebytecount]
                found[f"{tag.code} {tag.name}"] = (int(tag.dtype), tag.count, value)
    return found


def _below(data: bytes, offset: int, name: str) -> dict[str, Any]:
    file = BytesIO(data)
    ifd: Any = ImageFileDirectory_v2(b"II*\0" + bytes(4) if data[:1] == b"I" else b"MM\0*" + bytes(4))
    ifd._bigtiff = 43 in data[2:4]  # which it knows by itself of little-endian files only
    file.seek(offset)
    ifd.load(file)
    found: dict[str, Any] = {}
    for code, value in ifd._tagdata.items():
        if code in POINTERS:
            below = int.from_bytes(value, "little" if ifd._endian == "<" else "big")
            found |= _below(data, below, f"{name} {POINTERS[code]}")
        else:
            found[f"{name} {code}"] = (ifd.tagtype[code], value)
    return found
