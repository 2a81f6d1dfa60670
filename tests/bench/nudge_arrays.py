"""From a changed correction to new scopes and thumbnail arrays, on the 960x540 proxy of a UHD shot."""

import itertools

from measure import medians, row, uhd
from msgspec.structs import replace

from poise.correction import CODED, Balance, Correction, Levels
from poise.engine import COARSE, compile_engine
from poise.frames import proxy
from poise.frames.frame import Depth
from poise.scopes import instruments

small = proxy(uhd(), 960, 540)
steps = itertools.count()
start = Correction(balance=Balance(power=(0.95, 1.0, 1.02)), levels=Levels(0.02, 0.95), saturation=1.1)


def nudged() -> Correction:
    return replace(start, balance=Balance((1 + next(steps) * 1e-4, 1.0, 1.0), power=start.balance.power))


def compiled() -> object:
    return compile_engine(nudged(), CODED, Depth.U16, output="work", entries=COARSE)


def whole() -> object:
    engine = compile_engine(nudged(), CODED, Depth.U16, output="work", entries=COARSE)
    half = engine.apply(small[::2, ::2])
    grids = instruments(half, 48, 68, 64, maximum=65535)
    thumbnail = (half[::8, ::5] >> 8).astype("u1")
    return grids, thumbnail


both, bake = medians(whole, compiled, runs=41)
row("changed correction to scopes and thumbnail (of it: bake)", both, bake, 0.008, "s")
