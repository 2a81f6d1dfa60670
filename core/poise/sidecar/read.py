"""Reading a sidecar: checked against the model, every fault told with its key path."""

import json
import stat
from pathlib import Path
from typing import Any

import msgspec

from poise.correction.checks import located
from poise.errors import SidecarError
from poise.frames.shots import Shot
from poise.sidecar.schema import VERSION, Sidecar

LARGEST = 4 * 2**20


def load(path: Path) -> Sidecar:
    """The sidecar in a file.

    Raises:
        SidecarError: missing, torn, too large, newer than this version, or a value outside its limits.
    """
    return parse(path, raw(path))


def load_or_none(shot: Shot) -> Sidecar | None:
    """A shot's sidecar, None where there is none."""
    return load(shot.sidecar_path) if shot.sidecar_path.exists() else None


def raw(path: Path) -> dict[str, Any]:
    """The file's JSON object, unknown keys and all."""
    try:
        found_there = path.stat()
        if not stat.S_ISREG(found_there.st_mode):  # a pipe would be waited for without end
            raise SidecarError(path, "not a plain file, so not a sidecar; move it away")
        if found_there.st_size > LARGEST:
            raise SidecarError(path, f"larger than {LARGEST // 2**20} MB, so not a sidecar; move it away")
        content = path.read_bytes()
    except OSError as fault:
        raise SidecarError(path, f"can't be read: {fault.strerror}") from None
    if not content.strip():
        raise SidecarError(path, "the sidecar is empty; delete it or put it back from a copy")
    try:
        found = json.loads(content, parse_constant=_no_constant)
    except (ValueError, RecursionError) as fault:
        raise SidecarError(path, f"not valid JSON: {fault}; mend it or put it back from a copy") from None
    if not isinstance(found, dict):
        raise SidecarError(path, "a sidecar is a JSON object; mend it or put it back from a copy")
    return found


def parse(path: Path, found: dict[str, Any]) -> Sidecar:
    """A JSON object as a sidecar, checked."""
    version = found.get("poise")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise SidecarError(path, 'no "poise": 1, so not a sidecar of this program; add it or move the file away')
    if version > VERSION:
        raise SidecarError(path, f"written by a newer poise (format {version}, this one reads {VERSION}); update poise")
    try:
        return msgspec.convert(found, Sidecar)
    except msgspec.ValidationError as fault:
        where, reason = located(fault)
        raise SidecarError(path, f"{where or 'sidecar'}: {reason}") from None


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number that JSON knows")
