"""Two batches never write into one folder; whoever dies lets go of it."""

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
