"""What an encoding says about how the codes of a clip become R'G'B', put into the paths of its frames."""

from dataclasses import replace
from pathlib import Path

from poise.correction.model import Encoding
from poise.frames.clip_frame import ClipFrame, Codes
from poise.frames.shots import Shot


def file_under(file: Path, encoding: Encoding | None) -> Path:
    """A file as it is read under an encoding; the same path, unless it is a frame of a clip.

    Example:
        >>> file_under(ClipFrame.of("quay_04.mov", 2), Encoding(matrix="BT.601")).codes
        Codes(matrix='BT.601', range='full')
    """
    if encoding is None or not isinstance(file, ClipFrame):
        return file
    return ClipFrame.of(file, file.number, Codes(encoding.matrix, encoding.range))


def shot_under(shot: Shot, encoding: Encoding | None) -> Shot:
    """A shot whose files are read under an encoding; the same, unless it is a clip."""
    first = file_under(shot.first, encoding)
    if not isinstance(first, ClipFrame) or first == shot.first:
        return shot
    path = Path(str(first))  # a clip of an hour has 90,000 frames
    numbers = shot.numbers or (first.number,)  # one frame alone has none
    return replace(shot, files=tuple(ClipFrame.of(path, number, first.codes) for number in numbers))
