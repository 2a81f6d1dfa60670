"""Grey with alpha at every other depth, through the batch; read again by tifffile and OpenImageIO."""

from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO as oiio
import pytest
import tifffile

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import LINEAR, NEUTRAL
from poise.frames import Depth

RAMP = np.dstack([np.full((4, 512), 0.5), np.linspace(0, 1, 512) * np.ones((4, 1))])


def codes(depth: Depth) -> Any:
    return RAMP.astype(depth.dtype) if depth.is_float else np.floor(RAMP * depth.maximum + 0.5).astype(depth.dtype)


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16, Depth.HALF, Depth.FLOAT])
@pytest.mark.parametrize(("format", "out"), [("tiff", d) for d in ("8", "16", "half", "float")] + [("png", "16")])
def test_an_alpha_ramp_stays_a_ramp(tmp_path: Path, depth: Depth, format: str, out: str) -> None:
    path, output = tmp_path / "quay.tif", tmp_path / "out" / f"quay.{format}"
    tifffile.imwrite(path, codes(depth), photometric="minisblack", extrasamples=["unassalpha"])
    made = process_frame(Job(path, output, NEUTRAL, LINEAR, format, out))
    assert isinstance(made, FrameResult), made
    if format == "tiff":
        alpha = tifffile.imread(output)[..., 1]
    else:
        config = oiio.ImageSpec()
        config.attribute("oiio:UnassociatedAlpha", 1)
        alpha = oiio.ImageBuf(str(output), 0, 0, config).get_pixels(oiio.UINT16)[..., 1]
    kind, share = Depth(out), codes(depth)[..., 1].astype(np.float64) / depth.maximum
    expected = share if kind.is_float else np.floor(share * kind.maximum + 0.5)
    np.testing.assert_array_equal(alpha, expected.astype(kind.dtype))
