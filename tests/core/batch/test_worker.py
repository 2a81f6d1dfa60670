"""The worker: one frame read, corrected and written, or one line that says why not."""

from pathlib import Path

import numpy as np
import pytest
import skimage.data
import tifffile
import xxhash
from PIL import Image

from poise.batch.plan import Job
from poise.batch.worker import FrameResult, process_frame
from poise.correction import NEUTRAL, Correction, Levels, Light, Matte
from poise.correction.model import Inside
from poise.frames import Frame, read


@pytest.fixture
def photograph(tmp_path: Path) -> Path:
    path = tmp_path / "astronaut.jpg"
    Image.fromarray(skimage.data.astronaut()).save(path, quality=90)
    return path


def test_a_neutral_jpeg_is_copied_byte_for_byte(photograph: Path, tmp_path: Path) -> None:
    output = tmp_path / "out" / "a.jpg"
    assert isinstance(process_frame(Job(photograph, output, NEUTRAL, None, "jpeg", None)), FrameResult)
    assert output.read_bytes() == photograph.read_bytes()


def test_a_matte_that_changes_nothing_leaves_a_copy(photograph: Path, tmp_path: Path) -> None:
    output = tmp_path / "out" / "a.jpg"
    idle = Correction(mattes=(Matte("buoy", on=False, inside=Inside(turn=30)), Matte("quay", blur=0.01)))
    assert isinstance(process_frame(Job(photograph, output, idle, None, "jpeg", None)), FrameResult)
    assert output.read_bytes() == photograph.read_bytes()


def test_the_output_is_the_same_for_any_number_of_threads(photograph: Path, tmp_path: Path) -> None:
    keyed = Correction(saturation=1.1, mattes=(Matte("suit", blur=0.01, denoise=0.004, inside=Inside(turn=30)),))
    outputs = []
    for threads in (1, 3):
        output = tmp_path / f"{threads}.tif"
        assert isinstance(process_frame(Job(photograph, output, keyed, None, "tiff", None), threads), FrameResult)
        outputs.append(output.read_bytes())
    assert outputs[0] == outputs[1]


def test_levels_follow_the_formula(tmp_path: Path) -> None:
    picture = skimage.data.astronaut().astype(np.uint16) * 257
    tifffile.imwrite(tmp_path / "a.tif", picture, photometric="rgb")
    correction = Correction(levels=Levels(black=0.1, white=0.9))
    assert isinstance(
        process_frame(Job(tmp_path / "a.tif", tmp_path / "b.tif", correction, None, "tiff", None)), FrameResult
    )
    # DESIGN 4: (v - black)/(white - black), clamped, floor(v*65535 + 0.5)
    expected = np.floor(np.clip((picture / 65535 - 0.1) / 0.8, 0, 1) * 65535 + 0.5)
    assert np.abs(tifffile.imread(tmp_path / "b.tif") - expected).max() <= 1


def test_light_goes_into_a_display_format_as_srgb(photograph: Path, tmp_path: Path) -> None:
    assert isinstance(process_frame(Job(photograph, tmp_path / "a.exr", NEUTRAL, None, "exr", "float")), FrameResult)
    exr = read(tmp_path / "a.exr")
    assert exr.linear
    assert isinstance(
        process_frame(Job(tmp_path / "a.exr", tmp_path / "a.png", NEUTRAL, None, "png", "8")), FrameResult
    )
    with Image.open(photograph) as source, Image.open(tmp_path / "a.png") as back:
        assert np.abs(np.asarray(source).astype(int) - np.asarray(back)).max() <= 1


def test_what_cannot_be_done_is_one_line(photograph: Path, tmp_path: Path) -> None:
    damaged = tmp_path / "short.jpg"
    damaged.write_bytes(photograph.read_bytes()[:3000])
    reason = process_frame(Job(damaged, tmp_path / "out.jpg", NEUTRAL, None, "jpeg", None))
    assert isinstance(reason, str)
    assert "\n" not in reason
    grey = tmp_path / "grey.png"
    Image.fromarray(skimage.data.camera()).save(grey)
    warm = Correction(light=Light(warmth=20))
    assert "greyscale" in str(process_frame(Job(grey, tmp_path / "out.png", warm, None, "png", None)))
    assert not (tmp_path / "out.jpg").exists()
    assert not (tmp_path / "out.png").exists()


@pytest.mark.parametrize("correction", [NEUTRAL, Correction(saturation=1.5)])
def test_a_source_that_vanishes_has_its_true_reason_and_leaves_no_output(
    photograph: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, correction: Correction
) -> None:
    def taken_away(path: Path) -> Frame:
        frame = read(path)
        path.unlink()
        return frame

    monkeypatch.setattr("poise.batch.worker.read", taken_away)
    output = tmp_path / "out.jpg"
    told = process_frame(Job(photograph, output, correction, None, "jpeg", None))
    assert told == "it can no longer be read: no such file or directory"
    assert not output.exists()


def test_a_source_that_changes_while_it_is_read_leaves_no_output(
    photograph: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def written_on(path: Path) -> Frame:
        frame = read(path)
        with path.open("ab") as file:
            file.write(b"more")
        return frame

    monkeypatch.setattr("poise.batch.worker.read", written_on)
    reason = process_frame(Job(photograph, tmp_path / "out.jpg", Correction(saturation=0.9), None, "jpeg", None))
    assert "changed while it was read" in str(reason)
    assert not (tmp_path / "out.jpg").exists()


def test_a_source_whose_mode_changes_while_it_is_read_is_done(
    photograph: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    reads: list[Path] = []

    def opened_up(path: Path) -> Frame:
        frame = read(path)
        if not reads:
            path.chmod(0o600)
        reads.append(path)
        return frame

    monkeypatch.setattr("poise.batch.worker.read", opened_up)
    assert isinstance(
        process_frame(Job(photograph, tmp_path / "out.jpg", Correction(saturation=0.9), None, "jpeg", None)),
        FrameResult,
    )
    assert len(reads) == 2


def test_what_was_made_is_known_by_its_content(photograph: Path, tmp_path: Path) -> None:
    """xxhash's own one-shot function, on what stands on disk."""
    made = process_frame(Job(photograph, tmp_path / "out.jpg", Correction(saturation=0.9), None, "jpeg", None))
    assert isinstance(made, FrameResult)
    for path, content in ((photograph, made.source_hash), (tmp_path / "out.jpg", made.output_hash)):
        assert content == xxhash.xxh3_128_hexdigest(path.read_bytes())
    assert made.pixels == 512 * 512
