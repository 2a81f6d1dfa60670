"""One side of a shot, before or after: its frame under a correction, measured, with its pictures."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from poise.correction.model import Correction, Encoding
from poise.engine import Engine, compile_engine
from poise.frames.frame import Frame, Pixels
from poise.report.pictures import USUAL, Picture, Size, parade_picture, small, thumbnail, waveform_picture
from poise.scopes import Readings, measure, measure_parts, split
from poise.scopes.signal import strips
from poise.scopes.waveform import Counts, traces


@dataclass(frozen=True)
class Side:
    """A shot before or after its correction, measured at full resolution in work code."""

    readings: Readings
    picture: Picture
    waveform: Picture
    parade: Picture


def side(
    frame: Frame, correction: Correction, encoding: Encoding, readings: Readings | None = None, size: Size = USUAL
) -> Side:
    """Measure and draw a frame under a correction.

    Args:
        readings: those of the corrected frame, if they are known already.
        size: of the pictures.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    engine = compile_engine(correction, encoding, frame.depth, output="work")
    primaries, maximum = encoding.work_primaries, frame.depth.maximum
    counted = Traces(frame.width, None if engine.out_depth.is_float else maximum, primaries, size)
    parts = counted.through(_parts(engine, frame.colour))
    if readings is not None:
        for _ in parts:
            pass
    elif engine.out_depth.is_float:
        readings = measure(next(parts), maximum, primaries)
    else:
        readings = measure_parts(parts, maximum, primaries)
    levels = engine.apply(small(frame.colour, size)).astype(np.float32)
    picture = thumbnail(levels if engine.out_depth.is_float else levels / np.float32(maximum), size.quality)
    return Side(readings, picture, waveform_picture(counted.luma), parade_picture(counted.colours))


class Traces:
    """Counts the waveform and parade of a picture, part by part.

    Attributes:
        luma: (rows, columns), or fewer columns for a narrower picture.
        colours: (3, rows, each), likewise.
    """

    def __init__(self, width: int, maximum: int | None, primaries: str, size: Size = USUAL) -> None:
        self.luma: Counts = np.zeros((size.rows, min(size.columns, width)), np.int64)
        self.colours: Counts = np.zeros((3, size.rows, min(size.each, width)), np.int64)
        self._maximum, self._primaries = maximum, primaries

    def through(self, parts: Iterator[Pixels]) -> Iterator[Pixels]:
        """Yield the parts unchanged, counting each; parts consist of whole rows."""
        for part in parts:
            for strip in strips(part):
                signal = split(strip, self._maximum, self._primaries)
                rows, columns = self.luma.shape
                self.luma += traces(signal, signal.levels[:1], columns, rows)[0]
                self.colours += traces(signal, signal.levels[1:], self.colours.shape[2], rows)
            yield part


def _parts(engine: Engine, colour: Pixels) -> Iterator[Pixels]:
    """The picture in work code; in strips unless mattes or percentiles of floats need the whole picture."""
    if engine.out_depth.is_float:
        yield engine.apply(colour)
    elif engine.keyed is not None:
        yield from strips(engine.apply(colour))
    else:
        yield from map(engine.apply, strips(colour))
