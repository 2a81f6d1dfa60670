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
    """What the module of a format offers; it may raise anything, `poise.frames.store` turns it into one line."""

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
    """

    name: str
    title: str
    extensions: tuple[str, ...]
    magics: tuple[bytes, ...]
    depths: tuple[str, ...]
    channels: tuple[int, ...]
    icc: bool

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
            ("8", "16", "half", "float"),
            (1, 2, 3, 4),
            icc=True,
        ),
        Format("png", "PNG", (".png",), (b"\x89PNG\r\n\x1a\n",), ("8", "16"), (1, 2, 3, 4), icc=True),
        Format("jpeg", "JPEG", (".jpg", ".jpeg"), (b"\xff\xd8\xff",), ("8",), (1, 3), icc=True),
        Format("exr", "OpenEXR", (".exr",), (b"\x76\x2f\x31\x01",), ("half", "float"), (1, 2, 3, 4), icc=False),
        Format("dpx", "DPX", (".dpx",), (b"SDPX", b"XPDS"), ("8", "10", "12", "16"), (1, 3, 4), icc=False),
    )
}

_STRANGERS = {
    b"GIF8": "GIF",
    b"BM": "BMP",
    b"RIFF": "WebP or AVI",
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
    return next((kind for kind in FORMATS.values() if head.startswith(kind.magics)), None)


def stranger(head: bytes) -> str | None:
    """The name of a known kind of file that poise doesn't read, by its first bytes, or None."""
    return next((name for magic, name in _STRANGERS.items() if head.startswith(magic)), None)


def carried(frame: "Frame", name: str) -> Mapping[str, Any]:
    """What a frame carries for the format it is written to; empty when it was read from another format."""
    return frame.carry if frame.carry.get("format") == name else {}


def left_behind(frame: "Frame", kind: Format) -> tuple[str, ...]:
    """What a frame carries that another format than its own doesn't take, as at most one note.

    A codec names it under `holds` in what it carries, such as `("EXIF", "XMP")`.
    """
    lost = [] if carried(frame, kind.name) else list(frame.carry.get("holds", ()))
    if frame.icc and not kind.icc:
        lost.append("ICC profile")
    return (f"not kept in {kind.title}: {', '.join(lost)}",) if lost else ()


_BY_EXTENSION: Mapping[str, Format] = {ending: kind for kind in FORMATS.values() for ending in kind.extensions}
EXTENSIONS = frozenset(_BY_EXTENSION)
