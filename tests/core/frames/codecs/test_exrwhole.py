"""A torn OpenEXR file is known by its offsets; whole files of OpenImageIO pass."""

from pathlib import Path

import numpy as np
import OpenImageIO as oiio
import pytest

from poise.frames.codecs.exrwhole import whole


@pytest.mark.parametrize("tile", [0, 32])
@pytest.mark.parametrize("order", ["increasingY", "decreasingY"])
@pytest.mark.parametrize("compression", ["none", "zip", "piz"])
def test_whole_and_torn(tmp_path: Path, compression: str, order: str, tile: int) -> None:
    path = tmp_path / "a.exr"
    spec = oiio.ImageSpec(150, 77, 3, oiio.HALF)
    spec.tile_width = spec.tile_height = tile
    spec.attribute("compression", compression)
    spec.attribute("openexr:lineOrder", order)
    out = oiio.ImageOutput.create("openexr")
    assert out.open(str(path), spec)
    assert out.write_image(np.random.default_rng(1).random((77, 150, 3)).astype(np.float16))
    assert out.close()
    data = path.read_bytes()
    assert whole(path)
    for torn in (data[:-1], data[: len(data) // 2], data[:20], b"", bytes(len(data))):
        path.write_bytes(torn)
        assert not whole(path)
