"""The metadata of a JPEG for its output: kept as bytes, except for thumbnails, gain maps and further pictures."""

from collections.abc import Sequence

from poise.frames.codecs.exif_thumbnail import replaced, shrunk
from poise.frames.codecs.jpeg import further
from poise.frames.codecs.jpeg.markers import APP0, APP1, APP2, APP13, COM
from poise.frames.codecs.jpeg.segments import EXIF, ICC, MPF, XMP, Parts, Segment
from poise.frames.frame import Frame, Pixels

_GAIN_MAP, _FURTHER = "the gain map", "the further pictures in the file (MPF)"


def output_metadata(parts: Parts, frame: Frame, keep_icc: bool) -> tuple[list[Segment], bytes, tuple[str, ...]]:
    """The segments for an output, the data after its end, and notes.

    Args:
        parts: the parts of the source.
        frame: the picture to be written.
        keep_icc: whether to keep the profile of the source.
    """
    kept: list[Segment] = []
    notes: dict[str, None] = {}
    gain_map, more = _further(parts)
    if gain_map:
        notes[f"not kept: {_GAIN_MAP}, made for the uncorrected picture; the output is the base picture alone"] = None
    if more:
        notes[f"not kept: {_FURTHER}"] = None
    for mark, body in parts.metadata:
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
    """A JFIF segment with its thumbnail (width, height, then RGB) replaced."""
    width, height = body[12:14] if len(body) >= 14 else (0, 0)
    if not width * height or len(body) < 14 + 3 * width * height:
        return body
    drawn = shrunk(pixels, (width, height)).convert("RGB").tobytes()
    return body[:14] + drawn + body[14 + len(drawn) :]


def holds(parts: Parts) -> tuple[str, ...]:
    """The metadata that another format can't keep, as in `poise.frames.codecs.left_behind`."""
    found: dict[str, None] = {}
    for mark, body in parts.metadata:
        if mark == APP1 and body.startswith((EXIF, XMP)):
            found["EXIF" if body.startswith(EXIF) else "XMP"] = None
        elif mark == APP13:
            found["IPTC"] = None
        elif mark == COM:
            found["comments"] = None
    gain_map, more = _further(parts)
    return (*found, *[_GAIN_MAP] * gain_map, *[_FURTHER] * more)


def icc_profile(listed: Sequence[Segment]) -> bytes | None:
    """The ICC profile, from numbered segments (ICC.1:2022, annex B.4); None if there is no complete one."""
    pieces = sorted(body[len(ICC) :] for mark, body in listed if mark == APP2 and body.startswith(ICC))
    whole = pieces and pieces[0][1:2] == bytes([len(pieces) & 255])
    return b"".join(piece[2:] for piece in pieces) if whole else None


def _further(parts: Parts) -> tuple[bool, bool]:
    """Whether a file has a gain map, and whether it has other further pictures."""
    gain_map = any(
        (mark == APP2 and body.startswith(further.GAIN))
        or (mark == APP1 and body.startswith(XMP) and further.names_gain_map(body))
        for mark, body in parts.metadata
    )
    listed = any(mark == APP2 and body.startswith(MPF) for mark, body in parts.metadata)
    return gain_map, listed and not (gain_map and parts.further == 1)
