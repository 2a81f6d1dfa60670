"""Processes one clip of a batch: corrects its frames in order and encodes them into a movie."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from poise.atomic import atomic_replace
from poise.batch.fingerprint import mark
from poise.batch.plan import Job
from poise.errors import OutputError
from poise.frames import read
from poise.frames.clip_frame import ClipFrame, Codes
from poise.frames.tags import Tags

if TYPE_CHECKING:
    from poise.frames import Depth, Frame
    from poise.frames.frame import Pixels

Corrected = Callable[["Frame", "Depth", int], "Pixels"]


def write_movie(job: Job, corrected: Corrected) -> tuple[int, tuple[str, ...]]:
    """Corrects the frames of a clip and writes them as a movie.

    The movie replaces an earlier one only when it is complete; after an error none is left behind.

    Args:
        job: of one clip, with its encoding.
        corrected: returns the corrected pixels of a frame, in codes of the depth given, by its index from 0.

    Returns:
        The number of pixels of all frames, and notes for the user on what the movie doesn't keep of the clip.

    Raises:
        FrameError: a frame can't be read.
        OutputError: the movie can't be written.

    Example:
        pixels, notes = write_movie(job, lambda frame, depth, index: frame.pixels)
    """
    from poise.frames.codecs.clip import writer
    from poise.frames.codecs.clip.codec import opened
    from poise.frames.codecs.clip.movies import movie

    clip = opened(job.file)
    encoding = job.encoding
    assert encoding is not None  # the plan fills in that of the tags
    target = movie(clip.facts, job.movie)
    depth = writer.depth_of(target, clip.layout)
    codes = Codes(encoding.matrix, encoding.range)
    notes: dict[str, None] = dict.fromkeys(writer.losses(target, clip))
    if job.depth and job.depth != depth.value:
        notes[f"the depth {job.depth} is not used for movies; {target.title} is written with {depth.value} bit"] = None

    def pictures() -> Iterator["Pixels"]:
        for number in range(1, clip.count + 1):
            frame = read(ClipFrame.of(job.file, number, codes))
            notes.update(dict.fromkeys(frame.carry["source_notes"]))
            yield corrected(frame, depth, number - 1)

    matrix = clip.facts.under(codes).matrix
    tags = Tags(encoding.delivery, encoding.work_primaries, encoding.range)
    try:
        with atomic_replace(job.output) as temporary:
            notes.update(dict.fromkeys(writer.write(temporary, clip, target, pictures(), matrix, tags, mark(job))))
    except OSError as fault:  # PyAV's errors among them
        raise OutputError(job.output, f"can't be written as {target.title}: {fault.strerror or fault}") from fault
    return clip.count * clip.facts.width * clip.facts.height, tuple(notes)
