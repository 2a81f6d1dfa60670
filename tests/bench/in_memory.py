"""A UHD 16-bit frame in memory, table and matrix, against OpenColorIO's own CDL and against a plain copy."""

import numpy as np
import PyOpenColorIO as ocio
from measure import medians, row, uhd

from poise.correction import CODED, Balance, Correction
from poise.engine import compile_engine
from poise.frames.frame import Depth

pixels = uhd()
result = np.empty_like(pixels)
correction = Correction(balance=Balance((1.1, 1.0, 0.9), (0.02, 0.0, -0.01), (0.9, 1.0, 1.1)), saturation=1.2)
engine = compile_engine(correction, CODED, Depth.U16)

cdl = ocio.CDLTransform()
cdl.setSOP([*correction.balance.slope, *correction.balance.offset, *correction.balance.power])
cdl.setSat(correction.saturation)
cdl.setStyle(ocio.CDL_ASC)
live = (
    ocio.Config.CreateRaw()
    .getProcessor(cdl)
    .getOptimizedCPUProcessor(ocio.BIT_DEPTH_UINT16, ocio.BIT_DEPTH_UINT16, ocio.OPTIMIZATION_DEFAULT)
)
layout = (3840, 2160, 3, ocio.BIT_DEPTH_UINT16, 2, 6, 6 * 3840)


def their_cdl() -> None:
    live.apply(ocio.PackedImageDesc(pixels, *layout), ocio.PackedImageDesc(result, *layout))


one, two, theirs, copy = medians(
    lambda: engine.apply(pixels), lambda: engine.apply(pixels, 2), their_cdl, lambda: np.copyto(result, pixels)
)
row("UHD u16 in memory, 1 thread, against a live CDL", one, theirs, 0.5)
row("UHD u16 in memory, 2 threads, against a live CDL", two, theirs, 0.5)
row("UHD u16 in memory, 1 thread, against a copy", one, copy, 8)
row("UHD u16 in memory, 2 threads, against a copy", two, copy, 8)
