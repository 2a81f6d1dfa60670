"""How the pixels of a TIFF are stored (strips, tiles, planes, compression); read and written so, by tifffile."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
import tifffile

from poise.frames.codecs.shared import cut_short
from poise.frames.frame import Depth, Pixels

NONE = 1
LOSSLESS = frozenset({NONE, 5, 8, 32773, 32946, 34925, 50000})
_LEVELS = {8: 1, 32946: 1, 50000: 1}
"""Measured on UHD 16 bit: the quickest levels, within 2 % of the size of the usual ones."""
MIN_IS_WHITE, MIN_IS_BLACK, RGB = 0, 1, 2
_HORIZONTAL = 2
UNSPECIFIED, PREMULTIPLIED, STRAIGHT = 0, 1, 2


@dataclass(frozen=True)
class Storage:
    """What a file says about it, by the numbers of the standard.

    Attributes:
        order: `<` or `>`; None for this machine's.
        big: whether it is a BigTIFF.
        tile: rows and columns of a tile; None for strips.
        rows: in a strip.
        extra: what each channel beyond grey or RGB is.
    """

    order: Literal["<", ">"] | None = None
    big: bool = False
    photometric: int = MIN_IS_BLACK
    compression: int = NONE
    predictor: int = 1
    tile: tuple[int, int] | None = None
    rows: int | None = None
    planar: bool = False
    extra: tuple[int, ...] = ()


def storage_of(page: Any) -> Storage:
    """How tifffile says that a page is stored."""
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


def load(path: Path, page: Any, depth: Depth) -> Pixels:
    """All channels, (height, width, channels) in native byte order; an uncompressed page is read in one go.

    Raises:
        FrameError: the file ends before the picture does.
    """
    stored = storage_of(page)
    shape = (page.imagelength, page.imagewidth, int(page.samplesperpixel))
    size, ends = path.stat().st_size, list(zip(page.dataoffsets, page.databytecounts, strict=True))
    # tifffile fills missing strips with zeros
    if not ends or any(count == 0 or offset + count > size for offset, count in ends):
        raise cut_short(path)
    if stored.compression == NONE and page.is_contiguous and not stored.planar:
        kind = depth.dtype.newbyteorder(stored.order or "=")
        flat = np.fromfile(path, kind, int(np.prod(shape)), offset=ends[0][0])
        if flat.size != np.prod(shape):
            raise cut_short(path)
        data = (flat if kind.isnative else flat.byteswap(inplace=True).view(depth.dtype)).reshape(shape)
    else:
        data = page.asarray(maxworkers=1)
        if stored.planar:
            data = np.moveaxis(data.reshape(shape[2], *shape[:2]), 0, 2)
        data = np.ascontiguousarray(data.reshape(shape), depth.dtype)
    return _turned(data) if stored.photometric == MIN_IS_WHITE else data


def save(path: Path, pixels: Pixels, stored: Storage, icc: bytes | None = None, software: str | None = None) -> None:
    """Writes pixels, (height, width, channels), as they shall be stored, with no other tags than are given."""
    channels, predictor = pixels.shape[2], stored.predictor if stored.compression != NONE else 1
    if stored.photometric == MIN_IS_WHITE:
        pixels = _turned(pixels)
    if pixels.dtype.kind == "f" and predictor == _HORIZONTAL:
        pixels = pixels.view(f"u{pixels.dtype.itemsize}")  # it takes differences of the bits as whole numbers
    if stored.planar:
        pixels = np.moveaxis(pixels, 2, 0)
    elif channels == 1:
        pixels = pixels[..., 0]
    level = _LEVELS.get(stored.compression)
    big = stored.big or pixels.nbytes > 2**32 - 2**25
    with tifffile.TiffWriter(path, byteorder=stored.order, bigtiff=big) as tif:
        tif.write(
            np.ascontiguousarray(pixels),
            photometric=stored.photometric,
            planarconfig=("separate" if stored.planar else "contig") if channels > 1 else None,
            extrasamples=stored.extra or None,
            compression=stored.compression,
            compressionargs={"level": level} if level else None,
            predictor=predictor,
            tile=stored.tile,
            rowsperstrip=stored.rows,
            iccprofile=icc,
            metadata=None,
            software=software or False,
            maxworkers=1,
        )


def predictor_for(stored: Storage, depth: Depth) -> int:
    """The predictor of the same kind for another depth."""
    return 1 if stored.predictor == 1 else 3 if depth.is_float else _HORIZONTAL


def _turned(pixels: Pixels) -> Pixels:
    """Grey from min-is-white to min-is-black or back; what stands beside it stays."""
    turned = pixels.copy()
    np.invert(pixels[..., 0], out=turned[..., 0])
    return turned
