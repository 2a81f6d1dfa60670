"""Two batches never write into one folder; whoever dies lets go of it."""

import fcntl
import subprocess
import sys
from pathlib import Path

import pytest

from poise.batch.lock import NAME, locked
from poise.errors import OutputError

HOLD = """
import sys, time
from pathlib import Path
from poise.batch.lock import locked
with locked(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_another_process_is_kept_out_until_the_first_is_gone(tmp_path: Path) -> None:
    other = subprocess.Popen([sys.executable, "-c", HOLD, str(tmp_path)], stdout=subprocess.PIPE, text=True)
    assert other.stdout is not None
    assert other.stdout.readline() == "held\n"
    with pytest.raises(OutputError, match=rf"process {other.pid} on .*another --out"), locked(tmp_path):
        pass
    other.kill()
    other.wait()
    with locked(tmp_path):
        assert (tmp_path / NAME).exists()
    assert not (tmp_path / NAME).exists()


def test_a_folder_that_cant_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="no outputs can be written here"), locked(tmp_path / "gone"):
        pass
    (tmp_path / NAME).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(OutputError), locked(tmp_path):
        pass
    assert not (tmp_path / "elsewhere").exists()


def test_a_batch_that_was_kept_out_takes_no_lock_away(tmp_path: Path) -> None:
    with locked(tmp_path):
        for _ in range(2):  # a second batch, and a third after it
            with pytest.raises(OutputError, match="another --out"), locked(tmp_path):
                pass
        assert (tmp_path / NAME).exists()


def test_a_lock_on_a_file_that_was_unlinked_meanwhile_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Between its open and its lock, the batch before ends and a third begins: the second must see the third."""
    before = locked(tmp_path)
    before.__enter__()
    third = locked(tmp_path)
    flock, turns = fcntl.flock, []

    def late(handle: int, how: int) -> None:
        if not turns:
            turns.append(handle)
            before.__exit__(None, None, None)
            third.__enter__()
        flock(handle, how)

    monkeypatch.setattr(fcntl, "flock", late)
    with pytest.raises(OutputError, match="another --out"), locked(tmp_path):
        pass
    assert turns
    third.__exit__(None, None, None)
    assert not (tmp_path / NAME).exists()
