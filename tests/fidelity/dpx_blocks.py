"""DPX files for the fidelity suite: headers filled field by field, and fields, words and ends read here by struct.

Source: SMPTE ST 268-1, tables 1 to 5 (headers) and annex C (packing), field offsets from memory; OpenImageIO reads
the same fields in the suite.
"""

import struct
from pathlib import Path
from typing import Any

import numpy as np
from blocks import Blocks

FIELDS: dict[str, tuple[int, str]] = {
    "magic": (0, "4s"), "offset": (4, "I"), "version": (8, "8s"), "size": (16, "I"), "ditto": (20, "I"),
    "generic size": (24, "I"), "industry size": (28, "I"), "user size": (32, "I"), "name": (36, "100s"),
    "created": (136, "24s"), "creator": (160, "100s"), "project": (260, "200s"), "copyright": (460, "200s"),
    "key": (660, "I"), "reserved": (664, "104s"), "orientation": (768, "H"), "elements": (770, "H"),
    "width": (772, "I"), "height": (776, "I"), "sign": (780, "I"), "low code": (784, "I"), "low quantity": (788, "f"),
    "high code": (792, "I"), "high quantity": (796, "f"), "descriptor": (800, "B"), "transfer": (801, "B"),
    "colorimetric": (802, "B"), "bits": (803, "B"), "packing": (804, "H"), "encoding": (806, "H"),
    "data offset": (808, "I"), "end of line": (812, "I"), "end of image": (816, "I"), "description": (820, "32s"),
    "other elements": (852, "504s"), "reserved of image": (1356, "52s"), "x offset": (1408, "I"),
    "y offset": (1412, "I"), "x centre": (1416, "f"), "y centre": (1420, "f"), "x original": (1424, "I"),
    "y original": (1428, "I"), "source name": (1432, "100s"), "source time": (1532, "24s"),
    "input device": (1556, "32s"), "input serial": (1588, "32s"), "border": (1620, "8s"), "aspect": (1628, "8s"),
    "reserved of source": (1636, "28s"), "film maker": (1664, "2s"), "film type": (1666, "2s"),
    "film offset": (1668, "2s"), "film prefix": (1670, "6s"), "film count": (1676, "4s"), "film format": (1680, "32s"),
    "frame position": (1712, "I"), "sequence length": (1716, "I"), "held": (1720, "I"), "frame rate": (1724, "f"),
    "shutter": (1728, "f"), "frame id": (1732, "32s"), "slate": (1764, "100s"), "reserved of film": (1864, "56s"),
    "timecode": (1920, "I"), "user bits": (1924, "I"), "interlace": (1928, "B"), "field": (1929, "B"),
    "video signal": (1930, "B"), "zero": (1931, "B"), "x rate": (1932, "f"), "y rate": (1936, "f"),
    "tv frame rate": (1940, "f"), "time offset": (1944, "f"), "gamma": (1948, "f"), "black level": (1952, "f"),
    "black gain": (1956, "f"), "break point": (1960, "f"), "white level": (1964, "f"), "integration": (1968, "f"),
    "reserved of television": (1972, "76s"),
}  # fmt: skip
DESCRIPTORS = {1: 6, 3: 50, 4: 51}


def packed(codes: np.ndarray[Any, Any], bits: int, packing: int, order: str) -> bytes:
    """Rows of codes, (height, width, channels), a word at a time in plain Python."""
    rows = []
    for row in codes.reshape(len(codes), -1).tolist():
        if bits in (8, 16):
            rows.append(struct.pack(f"{order}{len(row)}{'B' if bits == 8 else 'H'}", *row))
        elif bits == 12 and packing:
            rows.append(struct.pack(f"{order}{len(row)}H", *(code << (4 if packing == 1 else 0) for code in row)))
        elif packing:
            shifts = (22, 12, 2) if packing == 1 else (20, 10, 0)
            shifts = shifts[::-1] if codes.shape[2] == 1 else shifts
            words = [sum(c << s for c, s in zip(row[i : i + 3], shifts, strict=False)) for i in range(0, len(row), 3)]
            rows.append(struct.pack(f"{order}{len(words)}I", *words))
        else:
            line = sum(code << (place * bits) for place, code in enumerate(row))
            count = -(-len(row) * bits // 32)
            rows.append(struct.pack(f"{order}{count}I", *((line >> (32 * i)) & 0xFFFFFFFF for i in range(count))))
    return b"".join(rows)


def build(
    path: Path,
    codes: np.ndarray[Any, Any],
    bits: int,
    packing: int = 1,
    order: str = ">",
    user: bytes = b"",
    after: bytes = b"",
    **fields: Any,
) -> Path:
    """A DPX file in which every field holds something of its own: text, or the field's place in the header."""
    head = bytearray(2048)
    for place, (name, (offset, kind)) in enumerate(FIELDS.items()):
        value: Any = (
            f"{name} of the harbour".encode() if kind.endswith("s") else (place if kind != "f" else place + 0.5)
        )
        if name.startswith(("reserved", "other")):
            value = bytes(range(1, 1 + int(kind[:-1]) % 200))
        struct.pack_into(order + kind, head, offset, value)
    data = packed(codes, bits, packing, order)
    known = {"magic": b"SDPX" if order == ">" else b"XPDS", "offset": 2048 + len(user), "version": b"V2.0"}
    known |= {"size": 2048 + len(user) + len(data) + len(after), "generic size": 1664, "industry size": 384}
    known |= {"user size": len(user), "key": 0xFFFFFFFF, "orientation": 0, "elements": 1, "sign": 0, "encoding": 0}
    known |= {
        "width": codes.shape[1],
        "height": codes.shape[0],
        "descriptor": DESCRIPTORS[codes.shape[2]],
        "bits": bits,
    }
    known |= {"packing": packing, "data offset": 2048 + len(user), "end of line": 0, "end of image": 0}
    known |= {"creator": b"a scanner on the quay", "low code": 0, "high code": 2**bits - 1} | fields
    for name, value in known.items():
        struct.pack_into(order + FIELDS[name][1], head, FIELDS[name][0], value)
    path.write_bytes(bytes(head) + user + data + after)
    return path


def blocks(path: Path, pixels: int) -> Blocks:
    """Every field of the header, the user data, and what stands after so many bytes of picture."""
    data = path.read_bytes()
    order = ">" if data[:4] == b"SDPX" else "<"
    found: dict[str, Any] = {}
    for name, (offset, kind) in FIELDS.items():
        found[name] = data[offset : offset + struct.calcsize(order + kind)]
    (offset,) = struct.unpack_from(f"{order}I", data, 4)
    return found | {"user data": data[2048:offset], "after": data[offset + pixels :], "length": len(data)}


def codes_of(path: Path, shape: tuple[int, ...], bits: int, packing: int) -> np.ndarray[Any, Any]:
    """The codes of a file, unpacked by plain Python from its bits."""
    data = path.read_bytes()
    order = ">" if data[:4] == b"SDPX" else "<"
    (offset,) = struct.unpack_from(f"{order}I", data, 4)
    height, values = shape[0], shape[1] * shape[2]
    size = len(packed(np.zeros(shape, int), bits, packing, order)) // height
    codes = []
    for row in range(height):
        line = data[offset + row * size : offset + (row + 1) * size]
        if bits in (8, 16):
            codes += struct.unpack(f"{order}{values}{'B' if bits == 8 else 'H'}", line)
        elif bits == 12 and packing:
            codes += [word >> (4 if packing == 1 else 0) for word in struct.unpack(f"{order}{values}H", line)]
        elif packing:
            shifts = (22, 12, 2) if packing == 1 else (20, 10, 0)
            shifts = shifts[::-1] if shape[2] == 1 else shifts
            words = struct.unpack(f"{order}{size // 4}I", line)
            codes += [word >> shift & 1023 for word in words for shift in shifts][:values]
        else:
            whole = sum(w << (32 * i) for i, w in enumerate(struct.unpack(f"{order}{size // 4}I", line)))
            codes += [whole >> (place * bits) & (2**bits - 1) for place in range(values)]
    return np.array(codes, np.uint8 if bits == 8 else np.uint16).reshape(shape)
