"""TIFF of 8 and 16 bit, half and float, by tifffile: any byte order, strips, tiles, planes and lossless compression.

Kept: byte order, BigTIFF, compression, predictor, strips or tiles, planes, resolution, orientation, ICC, XMP, IPTC and
text. A reduced-resolution page (a preview of the uncorrected picture) is left out. Refused by name: more pages,
premultiplied alpha, lossy compression, and layouts other than grey and RGB.
"""

import logging
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import tifffile

from poise.errors import FrameError
from poise.frames.codecs import carried
from poise.frames.codecs.shared import Probe, checked, cut_short
from poise.frames.frame import Depth, Frame, Pixels

logging.getLogger("tifffile").addHandler(logging.NullHandler())  # its warnings would reach the terminal unasked

_DEPTHS = {(1, 8): Depth.U8, (1, 16): Depth.U16, (3, 16): Depth.HALF, (3, 32): Depth.FLOAT}
_OTHER_LAYOUTS = {
    0: "grey stored as min-is-white",
    3: "a palette",
    4: "a transparency mask",
    5: "CMYK",
    6: "YCbCr",
    8: "CIE Lab",
    9: "ICC Lab",
    32803: "an undeveloped sensor mosaic",
}
_LOSSLESS = {1: None, 5: "lzw", 8: "zlib", 32946: "zlib", 32773: "packbits", 34925: "lzma", 50000: "zstd"}
_LEVELS = {"zlib": 1, "zstd": 1}
"""Measured on UHD 16 bit: the quickest levels, within 2 % of the size of the usual ones."""
_KEPT_TAGS = (269, 270, 271, 272, 274, 285, 297, 305, 306, 315, 316, 318, 319, 33432, 700, 33723, 34377)
_ICC, _RESOLUTION_X, _RESOLUTION_Y, _RESOLUTION_UNIT = 34675, 282, 283, 296


def probe(path: Path) -> Probe:
    with tifffile.TiffFile(path) as tif:
        return _probe(path, _page(path, tif))


def read(path: Path) -> Frame:
    with tifffile.TiffFile(path) as tif:
        page = _page(path, tif)
        header = _probe(path, page)
        tags = {tag.code: tag for tag in page.tags}
        resolution = None
        if _RESOLUTION_X in tags and _RESOLUTION_Y in tags:
            resolution = (tags[_RESOLUTION_X].value, tags[_RESOLUTION_Y].value)
        carry = {
            "format": "tiff",
            "byteorder": tif.byteorder,
            "bigtiff": tif.is_bigtiff,
            "compression": _LOSSLESS[int(page.compression)],
            "predictor": int(page.predictor) != 1,
            "tile": (page.tilelength, page.tilewidth) if page.is_tiled else None,
            "rowsperstrip": None if page.is_tiled else page.rowsperstrip,
            "planar": int(page.planarconfig) == 2 and header.channels > 1,
            "extrasamples": [int(sample) for sample in page.extrasamples],
            "resolution": resolution,
            "resolutionunit": int(tags[_RESOLUTION_UNIT].value) if _RESOLUTION_UNIT in tags else None,
            "tags": [_extratag(tags[code]) for code in _KEPT_TAGS if code in tags],
        }
        icc = bytes(tags[_ICC].value) if _ICC in tags else None
        pixels = _pixels(path, tif, page, header)
    return Frame(pixels, header.depth, linear=header.linear, icc=icc, carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    carry = carried(frame, "tiff")
    pixels, compression = frame.pixels, carry.get("compression")
    planar = carry.get("planar", False) and frame.channels > 1
    if planar:
        pixels = np.ascontiguousarray(np.moveaxis(pixels, 2, 0))
    elif frame.channels == 1:
        pixels = pixels[..., 0]
    extra = (carry.get("extrasamples") or ["unassalpha"]) if frame.alpha else None
    level = _LEVELS.get(compression or "")
    big = carry.get("bigtiff", False) or pixels.nbytes > 2**32 - 2**25
    with tifffile.TiffWriter(path, byteorder=carry.get("byteorder"), bigtiff=big) as tif:
        tif.write(
            np.ascontiguousarray(pixels),
            photometric="minisblack" if frame.grey else "rgb",
            planarconfig=("separate" if planar else "contig") if frame.channels > 1 else None,
            extrasamples=extra,
            compression=compression,
            compressionargs={"level": level} if level else None,
            predictor=bool(compression and carry.get("predictor")),
            tile=carry.get("tile"),
            rowsperstrip=carry.get("rowsperstrip"),
            resolution=carry.get("resolution"),
            resolutionunit=carry.get("resolutionunit"),
            iccprofile=frame.icc,
            extratags=carry.get("tags", ()),
            metadata=None,
            software=False,
            maxworkers=1,
        )
    return ()


def _page(path: Path, tif: Any) -> Any:
    pages = [page for page in tif.pages if not page.subfiletype & 1] or list(tif.pages)[:1]
    if len(pages) != 1:
        raise FrameError(path, f"the TIFF holds {len(pages)} pages; save one page a file")
    return pages[0]


def _probe(path: Path, page: Any) -> Probe:
    def refuse(what: str, cure: str) -> FrameError:
        return FrameError(path, f"the TIFF holds {what}, which poise doesn't correct; {cure}")

    as_rgb = "save it as grey or RGB"
    photometric, channels, bits = int(page.photometric), int(page.samplesperpixel), page.bitspersample
    if photometric not in (1, 2):
        raise refuse(_OTHER_LAYOUTS.get(photometric, f"colour layout {photometric}"), as_rgb)
    if bits == 1:
        raise refuse("black and white of 1 bit", as_rgb)
    depth = _DEPTHS.get((int(page.sampleformat), bits)) if isinstance(bits, int) else None
    if depth is None:
        kind = {1: "unsigned", 2: "signed", 3: "float"}.get(int(page.sampleformat), "unknown")
        raise refuse(f"{kind} values of {bits} bit", "save it as 8 or 16 bit, half or float")
    base = 1 if photometric == 1 else 3
    if channels not in (base, base + 1) or page.imagedepth != 1:
        raise refuse(f"{channels} channels", "save it as grey or RGB with at most one alpha")
    if channels > base and tuple(map(int, page.extrasamples)) == (1,):
        raise refuse("premultiplied (associated) alpha", "save it with straight alpha")
    if int(page.compression) not in _LOSSLESS:
        name = getattr(page.compression, "name", page.compression)
        raise refuse(f"{name} compression", "save it with zlib, LZW, ZSTD or none")
    return checked(path, Probe(page.imagewidth, page.imagelength, depth, channels, depth.is_float, "tiff"))


def _pixels(path: Path, tif: Any, page: Any, header: Probe) -> Pixels:
    """The page as (height, width, channels) in native byte order; an uncompressed page is read in one go."""
    shape = (header.height, header.width, header.channels)
    size, ends = path.stat().st_size, list(zip(page.dataoffsets, page.databytecounts, strict=True))
    # tifffile fills missing strips with zeros
    if not ends or any(count == 0 or offset + count > size for offset, count in ends):
        raise cut_short(path)
    planar = int(page.planarconfig) == 2 and header.channels > 1
    if int(page.compression) == 1 and page.is_contiguous and not planar:
        stored = header.depth.dtype.newbyteorder(tif.byteorder)
        flat = np.fromfile(path, stored, int(np.prod(shape)), offset=ends[0][0])
        if flat.size != np.prod(shape):
            raise cut_short(path)
        return (flat if stored.isnative else flat.byteswap(inplace=True).view(header.depth.dtype)).reshape(shape)
    data = page.asarray(maxworkers=1)
    if planar:
        data = np.moveaxis(data.reshape(shape[2], *shape[:2]), 0, 2)
    return np.ascontiguousarray(data.reshape(shape), header.depth.dtype)


def _extratag(tag: Any) -> tuple[int, int, int, Any, bool]:
    value = tag.value.encode() + b"\0" if isinstance(tag.value, str) else tag.value
    return tag.code, int(tag.dtype), len(value) if isinstance(value, bytes) else tag.count, value, True
