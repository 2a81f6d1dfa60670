"""The harbour reel and its sheet, made once for all tests of them."""

from pathlib import Path

import pytest
from harbour_reel import frames_of, poise


@pytest.fixture(scope="session")
def harbour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The reel; not to be written to."""
    folder = tmp_path_factory.mktemp("report") / "harbour <day>"
    folder.mkdir()
    frames_of(folder)
    return folder


@pytest.fixture(scope="session")
def sheet(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its sheet."""
    out = tmp_path_factory.mktemp("sheet") / "day.html"
    result = poise("report", harbour, "--out", out, "--workers", 1, "--frames", "all")
    assert result.exit_code == 1, result.stderr  # some shots can't be read or used, and are told
    return out
