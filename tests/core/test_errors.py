"""What an error says: the system's own reason where there is one."""

import os
from errno import EIO
from pathlib import Path

import pytest

from poise.errors import why_not


def test_a_fault_of_the_system_is_told_by_its_own_reason() -> None:
    with pytest.raises(FileNotFoundError) as told:
        os.stat("no_such_quay.tif")
    assert why_not(Path("no_such_quay.tif"), told.value) == "no such file or directory"
    assert why_not(Path("ferry.tif"), told.value) == "no_such_quay.tif: no such file or directory"
    assert why_not(Path("ferry.tif"), OSError(EIO, os.strerror(EIO))) == "input/output error"
    assert why_not(Path("ferry.tif"), OSError("fog")) == "an unforeseen fault (OSError: fog)"
