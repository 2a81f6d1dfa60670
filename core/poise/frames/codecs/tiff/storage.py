"""Reads and writes the pixels of a TIFF by tifffile, in strips, tiles or planes, with any lossless compression."""

import mmap
from dataclasses import replace
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import tifffile

from poise.frames.codecs.shared import cut_short
from poise.frames.codecs.tiff.layout import MIN_IS_WHITE, NONE, RGB, UNSPECIFIED, Storage
from poise.frames.codecs.tiff.packed import segments
from poise.frames.frame import Depth, Pixels

LOSSLESS = frozenset({NONE, 5, 8, 32773, 32946, 34925, 50000})
_EXACT = frozenset({32773, 34925, 50000})
"""PackBits, LZMA and ZSTD, for which tifffile takes data after the end of a strip as damage."""
_LEVELS = {8: 1, 32946: 1, 50000: 1}
"""The fastest levels; measured on UHD 16 bit, the files are within 2 % of the size at the default levels."""
_HORIZONTAL = 2
_COMPRESSION = 259


def storage_of(page: Any) -> Storage:
    """The storage of a page, as tifffile reads it."""
    channels, base = int(page.samplesperpixel), 3 if int(page.photometric) == RGB else 1
    extra = tuple(int(sample) for sample in page.extrasamples)
    return Storage(
        order=page.parent.byteorder,
        big=page.parent.is_bigtiff,
        photometric=int(page.photometric),
        compression=int(page.compression),
        predictor=int(page.predictor),
        tile=(page.tilelength, page.tilewidth) if page.is_tiled else None,
        rows=None if page.is_tiled else page.rowsperstrip,
        planar=int(page.planarconfig) == 2 and channels > 1,
        extra=(extra + (UNSPECIFIED,) * (channels - base))[: channels - base],
    )


def load(path: Path, page: Any, depth: Depth) -> tuple[Pixels, tuple[str, ...]]:
    """All channels of a page, (height, width, channels) in native byte order, and notes.

    Raises:
        FrameError: the file ends before the picture.
    """
    notes: tuple[str, ...] = ()
    stored = storage_of(page)
    shape = (page.imagelength, page.imagewidth, int(page.samplesperpixel))
    size, ends = path.stat().st_size, list(zip(page.dataoffsets, page.databytecounts, strict=True))
    # tifffile fills missing strips with zeros
    if not ends or any(count == 0 or offset + count > size for offset, count in ends):
        raise cut_short(path)
    if stored.compression == NONE and page.is_contiguous and not stored.planar and not depth.packed:
        kind = depth.dtype.newbyteorder(stored.order or "=")
        flat = np.fromfile(path, kind, int(np.prod(shape)), offset=ends[0][0])
        if flat.size != np.prod(shape):
            raise cut_short(path)
        data = (flat if kind.isnative else flat.byteswap(inplace=True).view(depth.dtype)).reshape(shape)
    else:
        data, notes = _decoded(path, page)
        if stored.planar:
            data = np.moveaxis(data.reshape(shape[2], *shape[:2]), 0, 2)
        data = np.ascontiguousarray(data.reshape(shape), depth.dtype)
    return _turned(data, depth) if stored.photometric == MIN_IS_WHITE else data, notes


def save(
    path: Path,
    pixels: Pixels,
    depth: Depth,
    stored: Storage,
    icc: bytes | None = None,
    software: str | None = None,
) -> None:
    """Write pixels, (height, width, channels), with the given storage, profile and software tag only."""
    channels, predictor = pixels.shape[2], stored.predictor if stored.compression != NONE else 1
    if stored.photometric == MIN_IS_WHITE:
        pixels = _turned(pixels, depth)
    if depth.packed:
        _save_packed(path, pixels, depth, stored, icc, software)
        return
    if pixels.dtype.kind == "f" and predictor == _HORIZONTAL:
        pixels = pixels.view(f"u{pixels.dtype.itemsize}")  # the predictor takes differences of the bits as integers
    if stored.planar:
        pixels = np.moveaxis(pixels, 2, 0)
    elif channels == 1:
        pixels = pixels[..., 0]
    level = _LEVELS.get(stored.compression)
    big = stored.big or pixels.nbytes > 2**32 - 2**25
    with tifffile.TiffWriter(path, byteorder=stored.order, bigtiff=big) as tif:
        tif.write(
            np.ascontiguousarray(pixels),
            compression=stored.compression,
            compressionargs={"level": level} if level else None,
            predictor=predictor,
            maxworkers=1,
            **_options(stored, channels, icc, software),
        )


def predictor_for(stored: Storage, depth: Depth) -> int:
    """The equivalent predictor at another depth; none for packed codes."""
    return 1 if stored.predictor == 1 or depth.packed else 3 if depth.is_float else _HORIZONTAL


def _save_packed(
    path: Path, pixels: Pixels, depth: Depth, stored: Storage, icc: bytes | None, software: str | None
) -> None:
    height, width, channels = pixels.shape
    size = (
        (channels, height, width) if stored.planar else (height, width, channels) if channels > 1 else (height, width)
    )
    big = stored.big or pixels.nbytes > 2**32 - 2**25
    with tifffile.TiffWriter(path, byteorder=stored.order, bigtiff=big) as tif:
        tif.write(
            segments(pixels, stored, depth.bits, _LEVELS.get(stored.compression)),
            shape=size,
            dtype=np.uint16,
            bitspersample=depth.bits,
            **_options(replace(stored, rows=stored.rows or height), channels, icc, software),
        )
    with tifffile.TiffFile(path, mode="r+") as tif:
        tif.pages.first.tags[_COMPRESSION].overwrite(stored.compression)  # tifffile packs codes uncompressed only


def _options(stored: Storage, channels: int, icc: bytes | None, software: str | None) -> dict[str, Any]:
    """The options of tifffile that don't depend on the depth."""
    return {
        "photometric": stored.photometric,
        "planarconfig": ("separate" if stored.planar else "contig") if channels > 1 else None,
        "extrasamples": stored.extra or None,
        "tile": stored.tile,
        "rowsperstrip": None if stored.tile else stored.rows,
        "align": -(-max(stored.start, 1) // 16) * 16,
        "iccprofile": icc,
        "metadata": None,
        "software": software or False,
    }


def _decoded(path: Path, page: Any) -> tuple[Pixels, tuple[str, ...]]:
    try:
        return page.asarray(maxworkers=1), ()
    except RuntimeError:
        if int(page.compression) not in _EXACT:
            raise
        with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
            pixels = imagecodecs.tiff_decode(data, index=page.index)  # libtiff stops when the strip is full
        return pixels, ("its strips hold more data than the picture needs; the rest was ignored",)


def _turned(pixels: Pixels, depth: Depth) -> Pixels:
    """Grey inverted, from min-is-white to min-is-black or back; other channels stay."""
    turned = pixels.copy()
    np.subtract(depth.maximum, pixels[..., 0], out=turned[..., 0])
    return turned
