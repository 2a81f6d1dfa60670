"""Applying a clip of HD against decoding it and encoding the same pictures, in processor time, for each codec.

The pictures that are encoded are those of the output, since an encoder takes longer over some than over others.
Targets: ProRes 422 HQ 1.25, FFV1 1.3, H.264 1.3 times. Then reading one frame of the clip against decoding it.
"""

import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import av
import numpy as np
from measure import pairs, row

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
import clips

from poise.batch.plan import Job
from poise.batch.worker import process_frame
from poise.correction import Correction, Light, default_encoding
from poise.frames import read
from poise.frames.clip_frame import ClipFrame
from poise.frames.codecs.clip.codec import opened
from poise.frames.codecs.clip.movies import MOVIES, movie

COUNT = 12
TARGETS = {"prores-hq": 1.25, "ffv1": 1.3, "h264": 1.3}


def grain(number: int) -> list[np.ndarray]:
    """A slope with grain, 10 bit 4:2:2."""
    down, across = np.mgrid[:1080, :1920]
    luma = 200 + (across + down + 40 * number) % 600 + np.random.default_rng(number).integers(0, 8, across.shape)
    return [plane.astype(np.uint16) for plane in (luma, 400 + across[:, ::2] // 8 % 200, 500 + down[:, ::2] // 8 % 200)]


def recoded(source: Path, pictures: list[av.VideoFrame], target: Path, name: str) -> None:
    """Decode and encode, and nothing else."""
    found = movie(opened(source).facts, name)
    with av.open(str(source)) as given, av.open(str(target), "w", format=found.container) as out:
        stream = out.add_stream(found.encoder, rate=25, options=dict(found.options))
        stream.width, stream.height, stream.pix_fmt = 1920, 1080, found.layout or "yuv422p10le"
        for _, picture in zip(given.decode(video=0), pictures, strict=True):
            out.mux(stream.encode(picture))
        out.mux(stream.encode())


with tempfile.TemporaryDirectory() as made:
    folder = Path(made)
    tags = {"colorspace": 1, "color_range": 1, "color_trc": 1, "color_primaries": 1}
    frames = [grain(number) for number in range(COUNT)]
    source = clips.clip(folder / "ferry.mov", "prores_ks", "yuv422p10le", frames, {"profile": "hq"}, **tags)
    encoding = default_encoding(False, opened(source).facts.tags)
    correction = Correction(light=Light(warmth=-20))
    for name, target in TARGETS.items():
        output = folder / f"out{MOVIES[name].ending}"
        job = Job(source, output, correction, encoding, "clip", None, True, name, COUNT)
        process_frame(job)
        with av.open(str(output)) as written:
            pictures = list(written.decode(video=0))
        floor = partial(recoded, source, pictures, folder / f"floor{output.suffix}", name)
        took = pairs(partial(process_frame, job), floor, 3, time.process_time)
        row(f"apply a clip of HD, {name}, against decoding and encoding", took[0], took[1], target, ratio=took[2])
    whole = av.open(str(source))
    ours, floor, _ = pairs(
        lambda: [read(ClipFrame.of(source, number)) for number in range(1, COUNT + 1)],
        lambda: [whole.seek(0), *whole.decode(video=0)],
        clock=time.process_time,
    )
    print(f"reading a frame of HD ProRes: {1000 * ours / COUNT:.0f} ms, of which decoding {1000 * floor / COUNT:.0f}")
