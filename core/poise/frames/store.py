"""Reads and writes pictures; the codec is chosen by the file's name and content, and writing is atomic.

A file is written beside its target as `.NAME.HOST.PID.poise-tmp` and moved onto it at the end.
"""

import stat
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from poise.atomic import atomic_replace
from poise.errors import FrameError, OutputError
from poise.frames.codecs import FORMATS, WRITTEN, Codec, Format, by_content, by_extension, left_behind, stranger
from poise.frames.codecs.guard import guard

if TYPE_CHECKING:
    from poise.frames.codecs.shared import Probe
    from poise.frames.frame import Frame

T = TypeVar("T")
_READ = ", ".join(kind.title for kind in FORMATS.values())


def read(path: Path | str) -> "Frame":
    """Read one picture at its own depth, with its metadata.

    Args:
        path: a TIFF, PNG, JPEG, OpenEXR, DPX, WebP or BMP file, with an extension that fits its content.

    Raises:
        FrameError: it can't be read, is empty, cut short or damaged, or has a layout that poise refuses.

    Example:
        read("quay_02.tif").pixels.shape
    """
    return _load(_path(path), lambda codec, file: codec.read(file))


def probe(path: Path | str) -> "Probe":
    """Read the size, depth and channels of a picture from its header, without decoding it.

    Raises:
        FrameError: as `read`, as far as the header shows it.

    Example:
        probe("quay_02.tif").width
    """
    return _load(_path(path), lambda codec, file: codec.probe(file))


def frames_in(path: Path) -> int:
    """The number of frames in a clip; 0 for a picture, and for a clip that can't be opened, as `read` says why.

    Example:
        frames_in(Path("quay_04.mov"))  # 120
    """
    if by_extension(path) is not FORMATS["clip"]:
        return 0
    from poise.frames.codecs.clip.codec import opened

    try:
        return _load(path, lambda _, file: opened(file).count)
    except FrameError:
        return 0


def write(path: Path | str, frame: "Frame", format: str | None = None, stamp: str | None = None) -> tuple[str, ...]:
    """Write one picture atomically, with the metadata of its source if the format is the same.

    Args:
        path: the target, in an existing folder. A file there is replaced.
        frame: the picture; the format must be able to hold its depth, channels and kind of alpha, as nothing is
            converted here.
        format: tiff, png, jpeg, exr or dpx; None for the extension of `path`.
        stamp: a line about the processing, added to the format's software or comment field.

    Returns:
        Notes on faults of the source, and on metadata that was not kept.

    Raises:
        OutputError: the format can't hold such a picture, or the file can't be written; no file is left behind.

    Example:
        write("balanced/quay_02.tif", read("quay_02.tif"))
    """
    path = Path(path)
    kind = FORMATS.get(format) if format else by_extension(path)
    if kind is None:
        raise OutputError(path, f"no format to write {format or path.suffix or 'this'}; use {', '.join(WRITTEN)}")
    if kind.written_as:
        raise OutputError(path, f"poise reads {kind.title} and doesn't write it; use {', '.join(WRITTEN)}")
    _holds(path, kind, frame)
    try:
        with atomic_replace(path) as temporary:
            return left_behind(frame, kind) + kind.codec.write(temporary, frame, stamp)
    except OSError as fault:
        raise OutputError(path, _system(fault, f"can't be written as {kind.title}")) from fault
    except OutputError as fault:
        raise OutputError(path, fault.reason) from fault
    except Exception as fault:  # codecs raise whatever their libraries raise
        raise OutputError(path, f"can't be written as {kind.title}: {fault}") from fault


def _holds(path: Path, kind: Format, frame: "Frame") -> None:
    if frame.depth.value not in kind.depths:
        named = f"{frame.depth.value} bit" if not frame.depth.is_float else frame.depth.value
        raise OutputError(path, f"{kind.title} can't hold {named}; choose a depth of {' or '.join(kind.depths)}")
    if frame.channels not in kind.channels:
        raise OutputError(path, f"{kind.title} can't hold {'grey with ' * frame.grey}alpha; choose another format")
    if frame.alpha and kind.premultiplied not in (None, frame.premultiplied):
        stored = "premultiplied" if kind.premultiplied else "straight"
        raise OutputError(path, f"{kind.title} holds {stored} alpha; convert the picture's first")


def _path(path: Path | str) -> Path:
    return path if isinstance(path, Path) else Path(path)  # Path(path) would lose the number of a frame of a clip


def _load(path: Path, use: Callable[[Codec, Path], T]) -> T:
    try:
        kind = _identify(path)
        guard(path, kind.name)
        return use(kind.codec, path)
    except FrameError:
        raise
    except MemoryError as fault:
        raise FrameError(path, "there is not enough memory for this picture; free some or use fewer workers") from fault
    except OSError as fault:
        raise FrameError(path, _system(fault, "the file is damaged or cut short")) from fault
    except Exception as fault:  # codecs raise whatever their libraries raise
        raise FrameError(path, f"the file is damaged or cut short ({_brief(fault)}); copy it again") from fault


def _identify(path: Path) -> Format:
    """The format of a file, by both its name and its first bytes."""
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise FrameError(path, "this is a folder, not a picture")
    if not stat.S_ISREG(mode):
        raise FrameError(path, "this is not a regular file, so it can't hold a picture")
    named = by_extension(path)
    if named is None:
        raise FrameError(path, f"poise reads no pictures with this ending ({path.suffix or 'none'}); it reads {_READ}")
    with path.open("rb") as file:
        head = file.read(16)
    if not head:
        raise FrameError(path, "the file is empty; copy it again")
    real = by_content(head)
    if real is named:
        return named
    other = real.title if real else stranger(head)
    if other:
        raise FrameError(path, f"its name says {named.title} but it holds a {other} file; rename it or convert it")
    raise FrameError(path, f"this is no {named.title} file, or its start is damaged; copy it again")


def _system(fault: OSError, otherwise: str) -> str:
    if not fault.strerror:
        return f"{otherwise} ({_brief(fault)})"
    return f"{fault.strerror[:1].lower()}{fault.strerror[1:]}"


def _brief(fault: Exception) -> str:
    return str(fault).strip()[:120] or type(fault).__name__
