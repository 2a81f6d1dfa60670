"""The picture formats that poise reads and writes, each by one codec that is loaded only when it is needed."""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, cast

if TYPE_CHECKING:
    from poise.frames.codecs.shared import Probe
    from poise.frames.frame import Frame


class Codec(Protocol):
    """What the module of a format offers; it may raise anything, `poise.frames.store` turns it into one line.

    What `read` finds amiss, and takes all the same, stands under `told` in what the frame carries, a note each.
    A format that is only read has no `write`.
    """

    def probe(self, path: Path) -> "Probe": ...
    def read(self, path: Path) -> "Frame": ...
    def write(self, path: Path, frame: "Frame", stamp: str | None) -> tuple[str, ...]:
        """Writes a frame, stamped where the format has a place for it; returns what it could not keep, as notes."""
        ...


@dataclass(frozen=True)
class Format:
    """One picture format.

    Attributes:
        name: what `--format` takes, and the name of the codec's module.
        title: how it is named to people.
        extensions: the file endings, lower case; the first is the usual one.
        magics: the first bytes of such a file.
        depths: the values of `Depth` that it can hold.
        channels: the channel counts that it can hold (2 and 4 are with alpha).
        icc: whether it can hold an ICC profile.
        form: what its files hold from byte 8 on, after one of the magics.
        written_as: the format that its pictures become, where poise reads it and does not write it.
        premultiplied: whether it stores colour multiplied by alpha; None where each file says so.
    """

    name: str
    title: str
    extensions: tuple[str, ...]
    magics: tuple[bytes, ...]
    depths: tuple[str, ...]
    channels: tuple[int, ...]
    icc: bool
    form: bytes = b""
    written_as: str | None = None
    premultiplied: bool | None = False

    @property
    def output(self) -> "Format":
        """The format that an output has when none is asked for."""
        return FORMATS[self.written_as or self.name]

    @property
    def codec(self) -> Codec:
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
            premultiplied=True,
        ),
        Format("dpx", "DPX", (".dpx",), (b"SDPX", b"XPDS"), ("8", "10", "12", "16"), (1, 3, 4), icc=False),
        Format("webp", "WebP", (".webp",), (b"RIFF",), ("8",), (3, 4), icc=True, form=b"WEBP", written_as="png"),
        Format("bmp", "BMP", (".bmp", ".dib"), (b"BM",), ("8",), (1, 3, 4), icc=True, written_as="png"),
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
    """The format that a file's ending names, or None.

    Example:
        >>> by_extension("quay_02.TIF").name
        'tiff'
    """
    return _BY_EXTENSION.get(Path(path).suffix.lower())


def by_content(head: bytes) -> Format | None:
    """The format that a file's first 16 bytes show, or None."""
    found = (kind for kind in FORMATS.values() if head.startswith(kind.magics) and head[8:].startswith(kind.form))
    return next(found, None)


def stranger(head: bytes) -> str | None:
    """The name of a known kind of file that poise doesn't read, by its first bytes, or None."""
    return next((name for magic, name in _STRANGERS.items() if head.startswith(magic)), None)


def carried(frame: "Frame", name: str) -> Mapping[str, Any]:
    """What a frame carries for the format it is written to; empty when it was read from another format."""
    return frame.carry if frame.carry.get("format") == name else {}


def left_behind(frame: "Frame", kind: Format) -> tuple[str, ...]:
    """Notes on what its source held and an output of this format doesn't.

    A codec names under `holds` in what it carries what no other format takes, such as `("EXIF", "XMP")`, and gives
    under `told` what is to be said of its source whatever it is written to.
    """
    lost = [] if carried(frame, kind.name) else list(frame.carry.get("holds", ()))
    if frame.icc and not kind.icc:
        lost.append("ICC profile")
    told: tuple[str, ...] = frame.carry.get("told", ())
    source = FORMATS.get(frame.carry.get("format", ""))
    if source and source.written_as:
        told += (f"poise reads {source.title} and doesn't write it: the output is {kind.title}",)
    return (*told, f"not kept in {kind.title}: {', '.join(lost)}") if lost else told


_BY_EXTENSION: Mapping[str, Format] = {ending: kind for kind in FORMATS.values() for ending in kind.extensions}
EXTENSIONS = frozenset(_BY_EXTENSION)
