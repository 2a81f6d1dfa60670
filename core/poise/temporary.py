"""The name under which a file is written before it is moved onto its target, and how such a name is known again."""

import os
import re
from pathlib import Path

_NAME = re.compile(r"\.(?P<target>.+)\.(?P<process>\d+)\.poise-tmp")


def beside(path: Path) -> Path:
    """The hidden temporary name of this process for a target, in the target's own folder.

    Example:
        >>> beside(Path("day/quay_02.tif")).name.startswith(".quay_02.tif.")
        True
    """
    return path.parent / f".{path.name}.{os.getpid()}.poise-tmp"


def orphan(name: str) -> str | None:
    """The target of a temporary file whose process is gone; None for any other name."""
    found = _NAME.fullmatch(name)
    return found["target"] if found and not _alive(int(found["process"])) else None


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
