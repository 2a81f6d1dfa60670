"""Small pictures of every format with all the metadata that it has a place for: what the mutations start from."""

import io
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import OpenImageIO as oiio
import skimage.data
import tifffile
from PIL import Image, ImageCms, PngImagePlugin

from poise.frames import Depth, Frame, write

PHOTO = np.ascontiguousarray(skimage.data.astronaut()[100:117, 200:223])
XMP = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'><harbour>quay</harbour></x:xmpmeta>"


@cache
def profile() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def exif() -> Image.Exif:
    found = Image.Exif()
    found[0x010F], found[0x0112] = "lighthouse", 6
    found.get_ifd(0x8769).update({0x829A: (1, 250), 0x927C: b"maker" * 9})
    return found


def tiffs() -> list[bytes]:
    wide = PHOTO.astype(np.uint16) * 257
    light = (PHOTO / 255).astype(np.float32)
    alpha = np.dstack([wide, wide[..., 0]])
    text = [(700, 1, len(XMP), XMP, True), (315, 2, 6, b"ferry\0", True)]
    kinds = [
        (PHOTO, {"iccprofile": profile(), "extratags": text, "resolution": (72, 72)}),
        (wide, {"compression": "zlib", "predictor": True, "rowsperstrip": 4, "byteorder": ">"}),
        (wide, {"compression": "lzw", "rowsperstrip": 8}),
        (light, {"compression": "zstd", "tile": (16, 16)}),
        (light.astype(np.float16), {"compression": "lzma"}),
        (PHOTO, {"compression": "packbits", "bigtiff": True}),
        (alpha, {"extrasamples": ["unassalpha"], "bigtiff": True, "byteorder": ">"}),
        (np.moveaxis(wide, 2, 0), {"planarconfig": "separate", "compression": "zlib"}),
    ]
    made = []
    for pixels, options in kinds:
        file = io.BytesIO()
        tifffile.imwrite(file, pixels, photometric="rgb", metadata=None, **options)
        made.append(file.getvalue())
    made += [_file(".tif", Frame(wide >> (16 - depth.bits), depth)) for depth in Depth if depth.packed]
    file = io.BytesIO()
    Image.fromarray(PHOTO).save(file, "TIFF", exif=exif())
    return [*made, file.getvalue()]


def pngs() -> list[bytes]:
    text = PngImagePlugin.PngInfo()
    text.add_text("Title", "ferry")
    text.add_text("Comment", "quay " * 40, zip=True)
    text.add_itxt("XML:com.adobe.xmp", XMP.decode(), zip=True)
    first = io.BytesIO()
    Image.fromarray(PHOTO).save(first, "PNG", pnginfo=text, icc_profile=profile(), exif=exif(), dpi=(72, 72))
    wide = PHOTO.astype(np.uint16) * 257
    return [
        first.getvalue(),
        _saved("PNG", PHOTO, {"transparency": tuple(map(int, PHOTO[3, 4]))}),
        _file(".png", Frame(np.dstack([wide, wide[..., 0]]), Depth.U16)),
        _file(".png", Frame(PHOTO[..., :1].copy(), Depth.U8)),
        _file(".png", Frame(wide[..., :2].copy(), Depth.U16)),
    ]


def jpegs() -> list[bytes]:
    made = []
    for pixels, options in (
        (PHOTO, {"exif": exif(), "icc_profile": profile(), "comment": b"quay", "xmp": XMP, "dpi": (72, 72)}),
        (PHOTO, {"progressive": True, "quality": 90, "exif": exif()}),
        (PHOTO, {"subsampling": 0, "restart_marker_blocks": 1}),
        (PHOTO[..., 0], {"quality": 40}),
    ):
        file = io.BytesIO()
        Image.fromarray(pixels).save(file, "JPEG", **options)
        made.append(file.getvalue())
    return made


def exrs() -> list[bytes]:
    made = []
    for compression in ("none", "rle", "zips", "zip", "piz", "pxr24", "b44", "b44a", "dwaa", "dwab"):
        for kind, tile in ((oiio.HALF, 0), (oiio.FLOAT, 16)):
            spec = oiio.ImageSpec(23, 17, 3, kind)
            spec.attribute("compression", compression)
            spec.attribute("owner", "harbour")
            spec.attribute("capDate", "2024:05:04 03:02:01")
            spec.tile_width = spec.tile_height = tile
            with TemporaryDirectory() as folder:
                path = f"{folder}/quay.exr"
                out = oiio.ImageOutput.create("openexr")
                assert out.open(path, spec)
                assert out.write_image((PHOTO / 255).astype(np.float32))
                assert out.close()
                made.append(Path(path).read_bytes())
    return made


def dpxs() -> list[bytes]:
    shift = {Depth.U8: 0, Depth.U10: 2, Depth.U12: 4, Depth.U16: 8}
    made = [_file(".dpx", Frame(PHOTO.astype(d.dtype) << s, d)) for d, s in shift.items()]
    made.append(_file(".dpx", Frame(PHOTO[..., :1].astype(np.uint16), Depth.U10)))
    packed = bytearray(made[1])
    packed[804:806] = bytes(2)  # the rows of method A are longer than packed ones
    return [*made, bytes(packed)]


def webps() -> list[bytes]:
    text = {"exif": exif(), "icc_profile": profile(), "xmp": XMP}
    alpha = np.dstack([PHOTO, PHOTO[..., 0]])
    kinds = [(PHOTO, text), (alpha, {"quality": 60}), (PHOTO, {"lossless": True}), (alpha, {"lossless": True, **text})]
    return [_saved("WEBP", pixels, options) for pixels, options in kinds]


def bmps() -> list[bytes]:
    alpha = np.dstack([PHOTO, PHOTO[..., 0]])
    return [_saved("BMP", pixels, {"dpi": (72, 72)}) for pixels in (PHOTO, PHOTO[..., 0], alpha)]


def _saved(kind: str, pixels: np.ndarray, options: dict[str, object]) -> bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, kind, **options)
    return file.getvalue()


def _file(ending: str, frame: Frame) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"quay{ending}"
        write(path, frame)
        return path.read_bytes()


SEEDS: Mapping[str, Callable[[], list[bytes]]] = {
    ".tif": tiffs,
    ".png": pngs,
    ".jpg": jpegs,
    ".exr": exrs,
    ".dpx": dpxs,
    ".webp": webps,
    ".bmp": bmps,
}
