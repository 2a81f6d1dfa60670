"""Claims about files: their paths lead nowhere else, and their content is what counts."""

import os
from pathlib import Path

import pytest
import xxhash

from poise.delivery.verify import Claim, below, unrecorded, verify


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    (folder / "pier").mkdir(parents=True)
    (folder / "pier" / "quay.png").write_bytes(b"a quay")
    (tmp_path / "secret.png").write_bytes(b"a secret")
    (folder / "away").symlink_to(tmp_path)
    (folder / "link.png").symlink_to(tmp_path / "secret.png")
    return folder


def claim(name: str, content: bytes = b"a quay") -> Claim:
    return Claim(name, xxhash.xxh3_128(content).hexdigest(), "source")


@pytest.mark.parametrize(
    "name",
    [
        *("", ".", "/etc/passwd", "../secret.png", "pier/../../secret.png", "..", "a\0b", "\ud800.png"),
        *("away/secret.png", "link.png", "away"),
    ],
)
def test_a_path_that_leads_out_is_not_looked_at(day: Path, name: str) -> None:
    assert below(day, name) is None
    fault = verify(claim(name, b"a secret"), [day])
    assert fault is not None
    assert fault.fault == "path"


def test_the_very_file_holds(day: Path) -> None:
    assert verify(claim("pier/quay.png"), [day.parent, day]) is None


def test_other_content_no_file_and_no_plain_file_do_not(day: Path) -> None:
    os.mkfifo(day / "pipe.png")
    found = [verify(one, [day]) for one in (claim("pier/quay.png", b"x"), claim("gone.png"), claim("pipe.png"))]
    assert [one and one.fault for one in found] == ["changed", "missing", "changed"]
    assert found[0] is not None
    assert found[0].value == xxhash.xxh3_128(b"a quay").hexdigest()


def test_pictures_that_nothing_was_recorded_of_are_extra(day: Path) -> None:
    (day / "notes.txt").write_text("no picture")
    (day / ".hidden.png").write_bytes(b"")
    found = unrecorded(day, ["pier/quay.png"], "output")
    assert [(one.fault, Path(one.file).name) for one in found] == [("extra", "link.png")]
