"""The last lines of `apply`, in every way that a run can end; and by the command itself."""

import json
from pathlib import Path

import pytest
import skimage.data
from click.testing import CliRunner
from PIL import Image

from poise.batch.run import Summary
from poise.commands import main
from poise.commands.shared.closing import closing

FILES = tuple(Path(f"quay_{number:02}.tif") for number in range(24))
GO_ON = "interrupted; run the same command again to continue"


@pytest.mark.parametrize(
    ("summary", "failed", "lines"),
    [
        (Summary(FILES, seconds=3.21), 0, ["24 frames written to balanced in 3.2 s"]),
        (Summary(FILES[:2], FILES[2:], seconds=1), 0, ["2 frames written to balanced in 1.0 s; 22 were up to date"]),
        (Summary(FILES[1:], FILES[:1], seconds=1), 0, ["23 frames written to balanced in 1.0 s; 1 was up to date"]),
        (Summary((), FILES), 0, ["nothing to do: 24 frames in balanced are up to date; --fresh writes them again"]),
        (
            Summary(FILES[4:], seconds=3),
            4,
            [
                "20 of 24 frames written to balanced in 3.0 s",
                "4 failed, listed above; fix them and run the same command",
            ],
        ),
        (Summary(FILES[1:], seconds=3), 1, ["23 of 24 frames written", "1 failed, listed above; fix it and run the"]),
        (Summary(), 24, ["nothing written to balanced", "24 failed, listed above"]),
        (Summary(FILES[:5], seconds=1.24, interrupted=True), 0, ["5 of 24 frames written to balanced in 1.2 s", GO_ON]),
        (Summary(interrupted=True), 0, ["nothing written to balanced", GO_ON]),
        (Summary(FILES[:5], FILES[9:], interrupted=True), 2, ["5 of 9 frames", "2 failed, listed above; fix", GO_ON]),
    ],
)
def test_every_end_in_words(summary: Summary, failed: int, lines: list[str]) -> None:
    said = closing("balanced", len(FILES), summary, failed)
    assert len(said) == len(lines)
    for line, start in zip(said, lines, strict=True):
        assert line.startswith(start)


def test_one_frame_is_one() -> None:
    assert closing("out", 1, Summary(FILES[:1], seconds=0.8), 0) == ["1 frame written to out in 0.8 s"]
    expected = "nothing to do: 1 frame in out is up to date; --fresh writes it again"
    assert closing("out", 1, Summary((), FILES[:1]), 0) == [expected]
    assert closing("out\nside", 1, Summary(), 1)[0] == r"nothing written to out\nside"


def test_the_command_ends_with_them(tmp_path: Path) -> None:
    Image.fromarray(skimage.data.coffee()[:30, :40]).save(tmp_path / "cup.png")
    (tmp_path / "cup.png.poise.json").write_text(json.dumps({"poise": 1, "correction": {"saturation": 0.8}}))
    call = ["apply", str(tmp_path / "cup.png"), "--out", str(tmp_path / "out"), "--workers", "1"]
    first, second = (CliRunner().invoke(main, call) for _ in range(2))
    assert (first.exit_code, second.exit_code) == (0, 0)
    assert first.stderr.splitlines()[-1].startswith(f"1 frame written to {tmp_path / 'out'} in ")
    assert second.stderr.splitlines()[-1].startswith(f"nothing to do: 1 frame in {tmp_path / 'out'} is up to date")
