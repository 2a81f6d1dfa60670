"""From a hand-written sidecar to the written file, against OpenColorIO's own CDL on the same photograph."""

import json
from pathlib import Path

import imagecodecs
import numpy as np
import PyOpenColorIO as ocio
import pytest
import tifffile
from skimage import data
from thorough import many

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.sidecar import load

PHOTOGRAPH = data.astronaut()[::12, ::12].astype(np.uint16) * 257
HEIGHT, WIDTH, _ = PHOTOGRAPH.shape
LAYOUT = (WIDTH, HEIGHT, 3, ocio.BIT_DEPTH_UINT16, 2, 6, 6 * WIDTH)


def cdl(slope: list[float], offset: list[float], power: list[float], saturation: float) -> np.ndarray:
    """The photograph through OpenColorIO's CDLTransform in ASC style (ASC CDL v1.2)."""
    transform = ocio.CDLTransform()
    transform.setSOP([*slope, *offset, *power])
    transform.setSat(saturation)
    transform.setStyle(ocio.CDL_ASC)
    config = ocio.Config.CreateRaw()
    config.setProcessorCacheFlags(ocio.PROCESSOR_CACHE_OFF)
    depth = ocio.BIT_DEPTH_UINT16
    cpu = config.getProcessor(transform).getOptimizedCPUProcessor(depth, depth, ocio.OPTIMIZATION_LOSSLESS)
    result = np.empty_like(PHOTOGRAPH)
    cpu.apply(ocio.PackedImageDesc(PHOTOGRAPH, *LAYOUT), ocio.PackedImageDesc(result, *LAYOUT))
    return result


@pytest.mark.parametrize("suffix", ["tif", "png"])
def test_hand_written_sidecars(tmp_path: Path, suffix: str) -> None:
    source = tmp_path / f"quay_02.{suffix}"
    if suffix == "tif":
        tifffile.imwrite(source, PHOTOGRAPH, photometric="rgb")
    else:
        source.write_bytes(imagecodecs.png_encode(PHOTOGRAPH))
    sidecar = tmp_path / f"{source.name}.poise.json"
    output = tmp_path / "out" / source.name
    rng = np.random.default_rng(21)
    for _ in range(many(40, 500)):
        slope, offset, power = (rng.uniform(*ends, 3).tolist() for ends in ((0.6, 1.6), (-0.15, 0.15), (0.5, 2)))
        saturation = rng.uniform(0, 2)
        balance = {"slope": slope, "offset": offset, "power": power}
        sidecar.write_text(json.dumps({"poise": 1, "correction": {"balance": balance, "saturation": saturation}}))
        found = load(sidecar)
        form = "tiff" if suffix == "tif" else "png"
        assert isinstance(process_frame(Job(source, output, found.correction, found.encoding, form, None)), FrameResult)
        written = tifffile.imread(output) if suffix == "tif" else imagecodecs.png_decode(output.read_bytes())
        assert written.dtype == np.uint16
        theirs = cdl(slope, offset, power, saturation)
        assert np.abs(written.astype(int) - theirs.astype(int)).max() <= 1
