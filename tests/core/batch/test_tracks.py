"""What a movie holds beside picture and sound is carried without decoding, or told; the ffmpeg program is the judge."""

import json
import subprocess
from pathlib import Path

import av
import clips
import imageio_ffmpeg
import pytest
from click.testing import CliRunner, Result

from poise.commands import main

pytestmark = pytest.mark.usefixtures("in_this_process")

SUBTITLES = "1\n00:00:00,040 --> 00:00:00,400\nThe ferry leaves\n\n2\n00:00:00,500 --> 00:00:00,900\nat noon\n\n"
CHAPTERS = ";FFMETADATA1\n" + "".join(
    f"[CHAPTER]\nTIMEBASE=1/1000\nSTART={start}\nEND={start + 500}\ntitle={title}\n"
    for start, title in ((0, "quay"), (500, "sea"))
)


def ffmpeg(*arguments: object) -> str:
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-y", "-v", "error", *map(str, arguments)]
    return subprocess.run(call, capture_output=True, check=True).stdout.decode()


def subtitles(path: Path) -> str:
    return ffmpeg("-i", path, "-map", "0:s:0", "-f", "srt", "-")


def made(folder: Path, name: str, *more: object) -> Path:
    """A clip of one second with sound, remuxed by the program with subtitles and what else is asked for."""
    (folder / "plain").mkdir()
    codec, layout = ("ffv1", "yuv422p10le") if name.endswith("mkv") else ("prores_ks", "yuv422p10le")
    levels = [200 + 20 * place for place in range(25)]
    ending = name.rpartition(".")[2]
    plain = clips.clip(
        folder / "plain" / f"a.{ending}",
        codec,
        layout,
        clips.greys(levels, layout),
        sound=True,
        colorspace=1,
        color_range=1,
    )
    (folder / "a.srt").write_text(SUBTITLES)
    (folder / "chapters.txt").write_text(CHAPTERS)
    (day := folder / "day").mkdir()
    given = (
        "-i",
        plain,
        "-i",
        folder / "a.srt",
        "-i",
        folder / "chapters.txt",
        "-map",
        "0:v",
        "-map",
        "0:a",
        "-map",
        "1:s",
    )
    text = "mov_text" if ending == "mov" else "subrip"
    language = ("-metadata:s:s:0", "language=nor", "-map_chapters", "-1")
    ffmpeg(*given, "-c", "copy", "-c:s", text, *language, *more, day / name)
    sidecar = {"poise": 1, "state": "balanced", "correction": {"light": {"exposure": 0.1}}}
    (day / f"{name}.poise.json").write_text(json.dumps(sidecar))
    return day / name


def applied(path: Path, *more: str) -> tuple[Path, Result]:
    out = path.parent.parent / "out"
    done = CliRunner().invoke(main, ["apply", str(path.parent), "--out", str(out), *more])
    assert done.exit_code == 0, done.output
    (found,) = (one for one in out.iterdir() if one.suffix != ".jsonl")
    return found, done


@pytest.mark.parametrize("name", ["quay.mov", "quay.mkv"])
def test_subtitles_are_carried_with_their_times_and_language(name: str, tmp_path: Path) -> None:
    source = made(tmp_path, name)
    assert subtitles(source) == SUBTITLES
    movie, done = applied(source)
    assert subtitles(movie) == SUBTITLES
    assert "not kept" not in done.stderr
    with av.open(str(movie)) as container:
        (track,) = container.streams.subtitles
        assert track.language == "nor"
        assert len(container.streams.audio) == 1


@pytest.mark.parametrize(
    ("name", "movie", "codec"), [("quay.mkv", "prores-hq", "srt"), ("quay.mov", "ffv1", "mov_text")]
)
def test_subtitles_that_another_container_cannot_hold_are_told(
    name: str, movie: str, codec: str, tmp_path: Path
) -> None:
    made_as, done = applied(made(tmp_path, name), "--movie", movie)
    assert f"not kept: a subtitle track of {codec}, which {made_as.suffix} can't hold" in done.stderr
    with av.open(str(made_as)) as container:
        assert not container.streams.subtitles


def test_chapters_are_written_again_and_their_track_is_no_subtitle(tmp_path: Path) -> None:
    source = made(tmp_path, "quay.mov", "-map_chapters", "2", "-timecode", "10:00:00:00")
    movie, done = applied(source)
    assert "not kept" not in done.stderr
    again = tmp_path / "again" / "day"
    again.mkdir(parents=True)
    movie = movie.rename(again / "quay.mov")
    (source.parent / "quay.mov.poise.json").rename(again / "quay.mov.poise.json")
    movie, done = applied(movie)  # an output of poise is a source like others
    assert "not kept" not in done.stderr
    assert subtitles(movie) == SUBTITLES
    with av.open(str(movie)) as container:
        assert [one["metadata"]["title"] for one in container.chapters()] == ["quay", "sea"]
        enabled = [track for track in container.streams.subtitles if track.disposition]
        assert len(enabled) == 1


def test_attachments_stay_in_matroska_and_are_told_elsewhere(tmp_path: Path) -> None:
    note = tmp_path / "note.txt"
    note.write_text("the pilot boarded at the mole")
    source = made(tmp_path, "quay.mkv", "-attach", note, "-metadata:s:t", "mimetype=text/plain")
    movie, done = applied(source)
    assert "not kept" not in done.stderr
    ffmpeg("-dump_attachment:t:0", tmp_path / "back.txt", "-i", movie, "-f", "null", "-")
    assert (tmp_path / "back.txt").read_text() == note.read_text()
    movie.unlink()
    (movie.parent / "poise-manifest.jsonl").unlink()
    _, done = applied(source, "--movie", "h264")
    assert "not kept: an attachment track, which .mp4 can't hold" in done.stderr


def test_a_second_picture_is_told(tmp_path: Path) -> None:
    _, done = applied(made(tmp_path, "quay.mkv", "-map", "0:v"))
    assert "not kept: another video track of ffv1, since only the first is corrected" in done.stderr
