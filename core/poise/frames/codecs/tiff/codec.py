"""TIFF of 8 to 16 bit, half and float, by tifffile: any byte order, strips, tiles, planes and lossless compression.

Kept: byte order, BigTIFF, compression, predictor, strips or tiles, planes, min-is-white, premultiplied (associated)
alpha, channels beyond alpha, and every tag byte for byte, with the Exif, GPS and other directories below. Smaller
pictures of the uncorrected one are left out and reported. Refused by name: more pages, lossy compression, layouts other
than grey and RGB.
"""

import logging
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import tifffile

from poise.errors import FrameError
from poise.frames.codecs import carried
from poise.frames.codecs.shared import Probe, checked
from poise.frames.codecs.tiff import directories, layout, storage, tags
from poise.frames.codecs.tiff.layout import Storage
from poise.frames.frame import Depth, Frame

logging.getLogger("tifffile").addHandler(logging.NullHandler())  # keeps its warnings off the terminal

_DEPTHS = {(1, depth.bits): depth for depth in Depth if not depth.is_float}
_DEPTHS |= {(3, 16): Depth.HALF, (3, 32): Depth.FLOAT}
_BASES = {layout.MIN_IS_WHITE: 1, layout.MIN_IS_BLACK: 1, layout.RGB: 3}
_OTHER_LAYOUTS = {
    3: "a palette",
    4: "a transparency mask",
    5: "CMYK",
    6: "YCbCr",
    8: "CIE Lab",
    9: "ICC Lab",
    32803: "an undeveloped sensor mosaic",
}
_REVERSED = 2
_MOST_CHANNELS = 16


def probe(path: Path) -> Probe:
    with tifffile.TiffFile(path) as tif:
        return _probe(path, _page(path, tif))


def read(path: Path) -> Frame:
    with tifffile.TiffFile(path) as tif:
        page = _page(path, tif)
        header = _probe(path, page)
        with path.open("rb") as file:
            reader = directories.Reader(path, file, directories.form_of(file.read(4)))
            directory = reader.directory(page.offset, tags.UNREAD)
        names = {tag.code: tag.name for tag in page.tags}
        notes = tags.uncorrected(names, len(tif.pages) - 1)
        pixels, source_notes = storage.load(path, page, header.depth)
        carry: dict[str, Any] = {"format": "tiff", "depth": header.depth, "storage": storage.storage_of(page)}
    beyond = pixels[..., header.channels :]
    carry["storage"] = replace(carry["storage"], start=tags.room(directory, min(page.dataoffsets)))
    carry |= {"directory": directory, "holds": tags.holds(directory, names)}
    notes += tags.outdated(directory) + tuple(f"not kept: {what}" for what in reader.skipped)
    carry |= {"notes": notes, "source_notes": source_notes}
    if beyond.shape[2]:
        carry |= {"beyond": beyond.copy(), "holds": (*carry["holds"], f"{beyond.shape[2]} further channels")}
        pixels = np.ascontiguousarray(pixels[..., : header.channels])
    icc = next((entry.value for entry in directory if entry.code == tags.ICC), None)
    premultiplied = carry["storage"].extra[:1] == (layout.PREMULTIPLIED,)
    return Frame(pixels, header.depth, header.linear, premultiplied, icc, carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    carry = carried(frame, "tiff")
    if not carry:
        photometric = layout.MIN_IS_BLACK if frame.grey else layout.RGB
        stored = Storage(photometric=photometric, extra=(_alpha(frame, layout.STRAIGHT),) * frame.alpha)
        storage.save(path, frame.pixels, frame.depth, stored, frame.icc, stamp)
        return (
            f"written as TIFF of {frame.depth.bits} bit, which many programs can't read; --depth 16 is read by all",
        ) * (frame.depth.packed)
    stored, pixels, notes = carry["storage"], frame.pixels, carry["notes"]
    if frame.alpha:
        stored = replace(stored, extra=(_alpha(frame, stored.extra[0]), *stored.extra[1:]))
    same, beyond = carry["depth"] is frame.depth, carry.get("beyond")
    if not same:
        stored = replace(stored, predictor=storage.predictor_for(stored, frame.depth))
        if stored.photometric == layout.MIN_IS_WHITE and frame.depth.is_float:
            stored = replace(stored, photometric=layout.MIN_IS_BLACK)
    if beyond is not None and same:
        pixels = np.concatenate([pixels, beyond], -1)
    elif beyond is not None:
        stored = replace(stored, extra=stored.extra[:1])
        notes += (f"not kept at another depth: {beyond.shape[2]} further channels",)
    storage.save(path, pixels, frame.depth, stored)
    return (*notes, *tags.give(path, carry["directory"], frame, same, stamp))


def _alpha(frame: Frame, before: int) -> int:
    """The kind of the alpha channel: as declared before, except for whether colour is multiplied by it."""
    if frame.premultiplied:
        return layout.PREMULTIPLIED
    return layout.STRAIGHT if before == layout.PREMULTIPLIED else before


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
    base = _BASES.get(photometric)
    if base is None:
        raise refuse(_OTHER_LAYOUTS.get(photometric, f"colour layout {photometric}"), as_rgb)
    if bits == 1:
        raise refuse("black and white of 1 bit", as_rgb)
    depth = _DEPTHS.get((int(page.sampleformat), bits)) if isinstance(bits, int) else None
    if depth is None:
        kind = {1: "unsigned", 2: "signed", 3: "float"}.get(int(page.sampleformat), "unknown")
        raise refuse(f"{kind} values of {bits} bit", "save it as 8 or 16 bit, half or float")
    if depth.packed and int(page.predictor) != 1:
        raise refuse(f"values of {bits} bit under a predictor", "save it without one")
    if photometric == layout.MIN_IS_WHITE and depth.is_float:
        raise refuse("float values stored as min-is-white", "save it as min-is-black")
    if not base <= channels <= _MOST_CHANNELS or page.imagedepth != 1:
        raise refuse(f"{channels} channels" + f" of {page.imagedepth} layers" * (page.imagedepth != 1), as_rgb)
    extra = tuple(map(int, page.extrasamples))
    if layout.PREMULTIPLIED in extra and (photometric == layout.MIN_IS_WHITE or layout.PREMULTIPLIED in extra[1:]):
        where = "stored as min-is-white" if photometric == layout.MIN_IS_WHITE else "behind another channel"
        raise refuse(f"premultiplied (associated) alpha {where}", "save it with straight alpha")
    if page.fillorder == _REVERSED:
        raise refuse("bits in reversed order (FillOrder 2)", "save it with FillOrder 1")
    if int(page.compression) not in storage.LOSSLESS:
        name = getattr(page.compression, "name", page.compression)
        raise refuse(f"{name} compression", "save it with zlib, LZW, ZSTD or none")
    size = page.imagewidth, page.imagelength
    return checked(path, Probe(*size, depth, min(channels, base + 1), depth.is_float, "tiff"))
