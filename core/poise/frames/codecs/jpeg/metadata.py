"""What stands beside the picture in a JPEG, for its output: kept as bytes, but for what would show the old picture."""

from collections.abc import Sequence

from poise.frames.codecs.exif_thumbnail import replaced, shrunk
from poise.frames.codecs.jpeg import further
from poise.frames.codecs.jpeg.segments import APP0, APP1, APP2, APP13, COM, EXIF, ICC, MPF, XMP, Parts, Segment
from poise.frames.frame import Frame, Pixels

_GAIN_MAP, _FURTHER = "the gain map", "the further pictures in the file (MPF)"


def beside(parts: Parts, frame: Frame, keep_icc: bool) -> tuple[list[Segment], bytes, tuple[str, ...]]:
    """The segments for the output, what follows its end, and notes on what became of them.

    Args:
        parts: the source's.
        frame: the picture to be written.
        keep_icc: whether the source's profile stays.
    """
    kept: list[Segment] = []
    notes: dict[str, None] = {}
    gain_map, more = _further(parts)
    if gain_map:
        notes[f"not kept: {_GAIN_MAP}, made for the uncorrected picture; the output is the base picture alone"] = None
    if more:
        notes[f"not kept: {_FURTHER}"] = None
    for mark, body in parts.beside:
        if mark == APP1 and body.startswith(EXIF):
            exif, said = replaced(body[6:], frame.pixels)
            body = EXIF + exif
            notes |= dict.fromkeys(said)
        elif mark == APP0 and body.startswith(b"JFIF\0"):
            body = _jfif(body, frame.pixels)
        elif mark == APP0 and body.startswith(b"JFXX\0"):
            notes["not kept: the JFXX thumbnail, which showed the uncorrected picture"] = None
            continue
        elif mark == APP2 and body.startswith((MPF, further.GAIN) if keep_icc else (MPF, further.GAIN, ICC)):
            continue
        elif mark == APP1 and body.startswith(XMP):
            body = further.without_gain_map(body)
        elif mark == APP13 and b"8BIM\x04\x0c" in body:
            notes["the thumbnail in its image resources shows the uncorrected picture"] = None
        kept.append((mark, body))
    if parts.trailing.strip(b"\0\xff"):
        notes["data after the end of the picture was kept unchanged"] = None
    return kept, parts.trailing, tuple(notes)


def _jfif(body: bytes, pixels: Pixels) -> bytes:
    """JFIF's own thumbnail: width, height, then RGB."""
    width, height = body[12:14] if len(body) >= 14 else (0, 0)
    if not width * height or len(body) < 14 + 3 * width * height:
        return body
    drawn = shrunk(pixels, (width, height)).convert("RGB").tobytes()
    return body[:14] + drawn + body[14 + len(drawn) :]


def holds(parts: Parts) -> tuple[str, ...]:
    """What another format doesn't take."""
    found: dict[str, None] = {}
    for mark, body in parts.beside:
        if mark == APP1 and body.startswith((EXIF, XMP)):
            found["EXIF" if body.startswith(EXIF) else "XMP"] = None
        elif mark == APP13:
            found["IPTC"] = None
        elif mark == COM:
            found["comments"] = None
    gain_map, more = _further(parts)
    return (*found, *[_GAIN_MAP] * gain_map, *[_FURTHER] * more)


def icc_profile(listed: Sequence[Segment]) -> bytes | None:
    """The ICC profile, which stands in segments that are numbered (ICC.1:2022, annex B.4); None without a whole one."""
    pieces = sorted(body[len(ICC) :] for mark, body in listed if mark == APP2 and body.startswith(ICC))
    whole = pieces and pieces[0][1:2] == bytes([len(pieces) & 255])
    return b"".join(piece[2:] for piece in pieces) if whole else None


def _further(parts: Parts) -> tuple[bool, bool]:
    """Whether a file has a gain map, and whether it has other further pictures."""
    gain_map = any(
        (mark == APP2 and body.startswith(further.GAIN))
        or (mark == APP1 and body.startswith(XMP) and further.names_gain_map(body))
        for mark, body in parts.beside
    )
    listed = any(mark == APP2 and body.startswith(MPF) for mark, body in parts.beside)
    return gain_map, listed and not (gain_map and parts.further == 1)
