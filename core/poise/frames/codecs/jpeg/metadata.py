"""What stands beside the picture in a JPEG, for its output: kept as bytes, but for what would show the old picture."""

from collections.abc import Sequence

from poise.frames.codecs.exif_thumbnail import redrawn, shrunk
from poise.frames.codecs.jpeg.segments import APP0, APP1, APP2, APP13, COM, EXIF, ICC, MPF, XMP, Parts, Segment
from poise.frames.frame import Frame, Pixels


def beside(parts: Parts, frame: Frame, keep_icc: bool) -> tuple[list[Segment], bytes, tuple[str, ...]]:
    """The segments for the output, what follows its end, and notes on what became of them.

    Args:
        parts: the source's.
        frame: the picture to be written.
        keep_icc: whether the source's profile stays.
    """
    kept: list[Segment] = []
    notes: dict[str, None] = {}
    for mark, body in parts.beside:
        if mark == APP1 and body.startswith(EXIF):
            exif, said = redrawn(body[6:], frame.pixels)
            body = EXIF + exif
            notes |= dict.fromkeys(said)
        elif mark == APP0 and body.startswith(b"JFIF\0"):
            body = _jfif(body, frame.pixels)
        elif mark == APP0 and body.startswith(b"JFXX\0"):
            notes["not kept: the JFXX thumbnail, which showed the picture as it was"] = None
            continue
        elif mark == APP2 and body.startswith(ICC) and not keep_icc:
            continue
        elif mark == APP2 and body.startswith(MPF):
            notes["not kept: the further pictures in the file (MPF)"] = None
            continue
        elif mark == APP13 and b"8BIM\x04\x0c" in body:
            notes["the thumbnail among its image resources shows the picture as it was"] = None
        kept.append((mark, body))
    if any(mark == APP2 and body.startswith(MPF) for mark, body in parts.beside):
        return kept, b"", tuple(notes)
    if parts.trailing.strip(b"\0\xff"):
        notes["data after the end of the picture was kept as it was"] = None
    return kept, parts.trailing, tuple(notes)


def _jfif(body: bytes, pixels: Pixels) -> bytes:
    """JFIF's own thumbnail: width, height, then RGB."""
    width, height = body[12:14] if len(body) >= 14 else (0, 0)
    if not width * height or len(body) < 14 + 3 * width * height:
        return body
    drawn = shrunk(pixels, (width, height)).convert("RGB").tobytes()
    return body[:14] + drawn + body[14 + len(drawn) :]


def holds(listed: Sequence[Segment]) -> tuple[str, ...]:
    """What another format doesn't take."""
    found: dict[str, None] = {}
    for mark, body in listed:
        if mark == APP1 and body.startswith((EXIF, XMP)):
            found["EXIF" if body.startswith(EXIF) else "XMP"] = None
        elif mark == APP13:
            found["IPTC"] = None
        elif mark == COM:
            found["comments"] = None
    return tuple(found)
