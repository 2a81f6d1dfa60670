"""Plans: outputs stand relative to the path asked for, and none may touch a source or another output."""

from pathlib import Path

import pytest

from poise.batch.plan import Target, plan
from poise.errors import UsageError
from poise.frames import scan
from poise.sidecar import Decision


def day(folder: Path, *names: str) -> Path:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).touch()
    return folder


def test_output_keeps_the_path_below_what_was_asked_for(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "day", "pier/quay_02.tif")]).shots
    planned = plan([(shots[0], Decision())], Target(tmp_path / "out", "png", "16"))
    assert [job.output for job in planned.jobs] == [tmp_path / "out/pier/quay_02.png"]


def test_what_is_only_read_becomes_a_png_or_what_is_asked_for(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "day", "quay.webp", "ferry.bmp", "ferry.png")]).shots
    planned = plan([(shot, Decision()) for shot in shots], Target(tmp_path / "out"))
    assert [(job.output.name, job.format) for job in planned.jobs] == [("ferry.png", "png"), ("quay.png", "png")]
    assert [problem.path.name for problem in planned.refused] == ["ferry.png"]
    planned = plan(
        [(shot, Decision()) for shot in shots if shot.first.suffix == ".webp"], Target(tmp_path / "out", "tiff")
    )
    assert [(job.output.name, job.format) for job in planned.jobs] == [("quay.tif", "tiff")]


def test_states_are_passed_over_with_the_reason(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "day", "a.tif", "b.tif", "c.tif")]).shots
    decisions = [None, Decision(state="held", note="ask"), Decision(state="skipped")]
    planned = plan(list(zip(shots, decisions, strict=True)), Target(tmp_path / "out"), everything=False)
    assert not planned.jobs
    assert [reason for _, reason in planned.passed_over][1:] == ["held: ask", "skipped"]
    everything = plan(list(zip(shots, decisions, strict=True)), Target(tmp_path / "out"), everything=True)
    assert [job.file.name for job in everything.jobs] == ["a.tif"]


def test_two_sources_of_one_output_are_named(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "one", "a.tif"), day(tmp_path / "two", "a.tif")]).shots
    planned = plan([(shot, Decision()) for shot in shots], Target(tmp_path / "out"))
    assert len(planned.jobs) == 1
    assert "one/a.tif" in planned.refused[0].reason


def test_the_source_folder_is_refused_even_through_a_link(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "day", "a.tif")]).shots
    (tmp_path / "link").symlink_to(tmp_path / "day")
    with pytest.raises(UsageError, match="holds the sources"):
        plan([(shots[0], Decision())], Target(tmp_path / "link"))


def test_the_folder_of_sidecars_takes_no_outputs(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "day", "a.tif")], sidecars=tmp_path / "sidecars").shots
    with pytest.raises(UsageError, match="holds the sidecars"):
        plan([(shots[0], Decision())], Target(tmp_path / "sidecars"))


def test_an_output_that_is_a_source_elsewhere_is_refused(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "one", "a.tif"), day(tmp_path, "two/one.tif", "two/a.tif") / "two"]).shots
    planned = plan([(shots[0], Decision()), *((s, None) for s in shots[1:])], Target(tmp_path / "out"))
    assert not planned.refused
    day(tmp_path, "other/a.tif", "other/a.tif.poise.json")
    assert "has a sidecar" in plan([(shots[0], Decision())], Target(tmp_path / "other")).refused[0].reason


def test_a_depth_that_the_format_cannot_hold_is_wrong_usage(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="PNG can't hold"):
        plan([], Target(tmp_path, "png", "float"))


def test_an_output_never_leaves_the_folder_through_a_link(tmp_path: Path) -> None:
    shots = scan([day(tmp_path / "day", "pier/a.tif", "b.tif")]).shots
    (tmp_path / "out").mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "out" / "pier").symlink_to(tmp_path / "elsewhere")
    planned = plan([(shot, Decision()) for shot in shots], Target(tmp_path / "out"))
    assert [job.file.name for job in planned.jobs] == ["b.tif"]
    assert "through a link" in planned.refused[0].reason
