"""The two ends of the chain: file code to full-range code, and work code to delivery code."""

from poise.chain import source
from poise.chain.stage import PerChannel, Stage, diagonal
from poise.colour.ranges import narrow_affine
from poise.colour.transfer import decode
from poise.correction.model import Encoding
from poise.errors import PoiseError
from poise.frames.frame import Depth


def entry(encoding: Encoding, depth: Depth) -> list[Stage]:
    """Stages from file code, as a share of full scale, to full-range source code, or to the output of the source's CLF.

    Raises:
        PoiseError: narrow range on a float picture, or a CLF that is missing or not valid.
    """
    through = source.stages(encoding)
    if encoding.range == "full":
        return [*through]
    if depth.is_float:
        raise PoiseError("narrow range is for integer pictures; set the range to full")
    return [diagonal(*narrow_affine(depth.bits)), *through]


def exit(encoding: Encoding, depth: Depth) -> list[Stage]:
    """Stages from full-range work code to delivery code, as a share of full scale."""
    steps: list[Stage] = []
    if encoding.work != encoding.delivery:
        work = encoding.work
        steps.append(PerChannel(lambda code: decode(work, code), alike=True))
    if encoding.range == "narrow" and not depth.is_float:
        slope, offset = narrow_affine(depth.bits)
        steps.append(diagonal(1 / slope, -offset / slope))
    return steps
