"""What the JPEG suites share: files with segments put in by hand, and a reader of segments after ITU-T T.81 annex B."""

import io
import struct
from pathlib import Path
from typing import Any

import numpy as np
import skimage.data
from PIL import Image
from skimage.metrics import peak_signal_noise_ratio

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import CODED, Correction
from poise.engine import compile_engine
from poise.frames import Depth

PHOTO = np.ascontiguousarray(skimage.data.astronaut()[100:136, 150:214])
DESATURATED = Correction(saturation=0.8)

Segments = list[tuple[int, bytes]]


def segments(data: bytes) -> tuple[Segments, bytes]:
    """All segments up to the first scan, and what follows the last end of an image."""
    at, found = 2, []
    while not found or found[-1][0] != 0xDA:
        assert data[at] == 0xFF
        (length,) = struct.unpack_from(">H", data, at + 2)
        found.append((data[at + 1], data[at + 4 : at + 2 + length]))
        at += 2 + length
    return found, data[data.index(b"\xff\xd9", at) + 2 :]


def beside(path: Path) -> Segments:
    return [(mark, body) for mark, body in segments(path.read_bytes())[0] if 0xE0 <= mark <= 0xEF or mark == 0xFE]


def coded(path: Path) -> dict[str, Any]:
    """How a file is coded: frame marker, components, tables by component, restart interval."""
    found, tables = dict(segments(path.read_bytes())[0]), {}
    frame = next(mark for mark in (0xC0, 0xC1, 0xC2) if mark in found)
    body = found[frame]
    for mark, table in segments(path.read_bytes())[0]:
        at = 0
        while mark == 0xDB and at < len(table):
            size = 128 if table[at] >> 4 else 64
            tables[table[at] & 15] = list(struct.unpack_from(f">64{'H' if size == 128 else 'B'}", table, at + 1))
            at += 1 + size
    components = [body[at : at + 3] for at in range(6, len(body), 3)]
    return {
        "frame": frame,
        "sampling": [part[1] for part in components] if len(components) > 1 else None,
        "tables": [tables[part[2]] for part in components],
        "restart": found.get(0xDD),
        "size": body[:5],
    }


def file(path: Path, *more: tuple[int, bytes], pixels: Any = PHOTO, drop: bool = False, **options: Any) -> Path:
    """Pillow's file with more segments after its own, or instead of them."""
    memory = io.BytesIO()
    Image.fromarray(pixels).save(memory, "JPEG", **options)
    data, at = memory.getvalue(), 2
    while 0xE0 <= data[at + 1] <= 0xEF or data[at + 1] == 0xFE:
        at += 2 + struct.unpack_from(">H", data, at + 2)[0]
    put = b"".join(struct.pack(">BBH", 0xFF, mark, len(body) + 2) + body for mark, body in more)
    path.write_bytes(data[: 2 if drop else at] + put + data[at:])
    return path


def applied(path: Path, correction: Correction = DESATURATED, notes: tuple[str, ...] = (), **options: Any) -> Path:
    output = path.parent / "out" / path.name
    made = process_frame(Job(path, output, correction, options.pop("encoding", None), "jpeg", None, **options))
    assert isinstance(made, FrameResult), made
    assert made.notes == notes
    return output


def stamped(listed: Segments) -> Segments:
    """The segments before the stamp, which must be the last."""
    mark, body = listed[-1]
    assert mark == 0xFE
    assert body.startswith(b"poise ")
    return listed[:-1]


def same_picture(path: Path, output: Path, correction: Correction = DESATURATED, least: float = 30) -> None:
    """The output decodes (by Pillow) to the corrected source, as near as coding it once more allows."""
    source = np.atleast_3d(np.asarray(Image.open(path)))
    expected = compile_engine(correction, CODED, Depth.U8, Depth.U8).apply(source)
    assert peak_signal_noise_ratio(expected, np.atleast_3d(np.asarray(Image.open(output)))) > least
