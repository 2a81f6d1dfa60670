"""The picture formats that poise reads and writes; the codec of each is imported only when needed."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, cast

if TYPE_CHECKING:
    from poise.frames.codecs.shared import Probe
    from poise.frames.frame import Frame


class Codec(Protocol):
    """The functions of a codec module; they may raise anything, as `poise.frames.store` turns it into one line.

    `read` puts notes on tolerated faults of the file under `source_notes` in `Frame.carry`. A format that is only read
    has no `write`.
    """

    def probe(self, path: Path) -> "Probe":
        """Read the header of a file."""
        ...

    def read(self, path: Path) -> "Frame":
        """Read a file, with everything that `write` keeps."""
        ...

    def write(self, path: Path, frame: "Frame", stamp: str | None) -> tuple[str, ...]:
        """Write a frame, with the stamp if the format has a place for it; returns notes on what it could not keep."""
        ...


@dataclass(frozen=True)
class Format:
    """One picture format.

    Attributes:
        name: the value of `--format`, and the name of its package.
        title: the name in messages.
        extensions: the file name extensions, lower case; the first is the usual one.
        magics: the possible first bytes of a file.
        depths: the values of `Depth` that it can hold.
        channels: the channel counts that it can hold (2 and 4 are with alpha).
        icc: whether it can hold an ICC profile.
        timed: whether it can hold timecode and frame rate.
        form: the bytes from byte 8 on, after one of the magics.
        boxes: the possible bytes from byte 4 on, in place of a magic.
        written_as: the format of its outputs, if poise reads it but doesn't write it.
        premultiplied: whether it stores colour multiplied by alpha; None if each file declares it.
    """

    name: str
    title: str
    extensions: tuple[str, ...]
    magics: tuple[bytes, ...]
    depths: tuple[str, ...]
    channels: tuple[int, ...]
    icc: bool
    timed: bool = False
    form: bytes = b""
    boxes: tuple[bytes, ...] = ()
    written_as: str | None = None
    premultiplied: bool | None = False

    @property
    def output(self) -> "Format":
        """The default format of an output."""
        return FORMATS[self.written_as or self.name]

    @property
    def codec(self) -> Codec:
        """Its codec module, imported when first used."""
        return cast(Codec, import_module(f"{__name__}.{self.name}.codec"))


FORMATS: Mapping[str, Format] = {
    kind.name: kind
    for kind in (
        Format(
            "tiff",
            "TIFF",
            (".tif", ".tiff"),
            (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"),
            ("8", "10", "12", "14", "16", "half", "float"),
            (1, 2, 3, 4),
            icc=True,
            premultiplied=None,
        ),
        Format("png", "PNG", (".png",), (b"\x89PNG\r\n\x1a\n",), ("8", "16"), (1, 2, 3, 4), icc=True),
        Format("jpeg", "JPEG", (".jpg", ".jpeg"), (b"\xff\xd8\xff",), ("8",), (1, 3), icc=True),
        Format(
            "exr",
            "OpenEXR",
            (".exr",),
            (b"\x76\x2f\x31\x01",),
            ("half", "float"),
            (1, 2, 3, 4),
            icc=False,
            timed=True,
            premultiplied=True,
        ),
        Format("dpx", "DPX", (".dpx",), (b"SDPX", b"XPDS"), ("8", "10", "12", "16"), (1, 3, 4), icc=False, timed=True),
        Format("webp", "WebP", (".webp",), (b"RIFF",), ("8",), (3, 4), icc=True, form=b"WEBP", written_as="png"),
        Format("bmp", "BMP", (".bmp", ".dib"), (b"BM",), ("8",), (1, 3, 4), icc=True, written_as="png"),
        Format(
            "clip",
            "movie",
            (".mov", ".mp4", ".m4v", ".mkv", ".mxf"),
            (b"\x1a\x45\xdf\xa3", b"\x06\x0e\x2b\x34\x02\x05\x01\x01"),
            ("8", "10", "12", "14", "16"),
            (1, 3, 4),
            icc=False,
            timed=True,
            boxes=(b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"),
            written_as="tiff",
        ),
    )
}
WRITTEN = tuple(name for name, kind in FORMATS.items() if kind.written_as is None)
"""The names of the formats that poise writes."""

_STRANGERS = {
    b"GIF8": "GIF",
    b"RIFF": "RIFF (AVI or WAV)",
    b"8BPS": "layered",
    b"%PDF": "PDF",
    b"PK\3\4": "ZIP",
}


def by_extension(path: Path | str) -> Format | None:
    """The format of a file by its extension, or None.

    Example:
        >>> by_extension("quay_02.TIF").name
        'tiff'
    """
    return _BY_EXTENSION.get(os.path.splitext(path)[1].lower())


def by_content(head: bytes) -> Format | None:
    """The format of a file by its first 16 bytes, or None."""
    for kind in FORMATS.values():
        if head.startswith(kind.magics) and head[8:].startswith(kind.form):
            return kind
        if head[4:].startswith(kind.boxes):
            return kind
    return None


def stranger(head: bytes) -> str | None:
    """The name of a known format that poise doesn't read, by the first bytes of a file, or None."""
    return next((name for magic, name in _STRANGERS.items() if head.startswith(magic)), None)


def carried(frame: "Frame", name: str) -> Mapping[str, Any]:
    """The frame's `carry` for the format it is written to; empty if it was read from another format."""
    return frame.carry if frame.carry.get("format") == name else {}


def left_behind(frame: "Frame", kind: Format) -> tuple[str, ...]:
    """Notes on the source of a frame, and on its metadata that an output of this format doesn't keep.

    A codec lists under `holds` in `carry` the metadata that no other format can keep, such as `("EXIF", "XMP")`, and
    under `source_notes` the notes that are reported for any output.
    """
    dropped = [] if carried(frame, kind.name) else list(frame.carry.get("holds", ()))
    if not kind.timed:
        there = (("timecode", frame.timing.timecode), ("frame rate", frame.timing.rate))
        dropped += [name for name, told in there if told]
    if frame.icc and not kind.icc:
        dropped.append("ICC profile")
    notes: tuple[str, ...] = frame.carry.get("source_notes", ())
    source = FORMATS.get(frame.carry.get("format", ""))
    if source and source.written_as and source.name != "clip":
        notes += (f"poise reads {source.title} and doesn't write it: the output is {kind.title}",)
    return (*notes, f"not kept in {kind.title}: {', '.join(dropped)}") if dropped else notes


_BY_EXTENSION: Mapping[str, Format] = {ending: kind for kind in FORMATS.values() for ending in kind.extensions}
EXTENSIONS = frozenset(_BY_EXTENSION)
