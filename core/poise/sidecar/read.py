"""Reads a sidecar and checks it against the model; every error names the key path."""

import errno
import json
import math
import os
from pathlib import Path
from typing import Any

import msgspec

from poise.correction.checks import path_and_reason
from poise.errors import SidecarError
from poise.frames.shots import Shot
from poise.regular_file import open_regular_file
from poise.sidecar.schema import VERSION, Sidecar

LARGEST = 4 * 2**20
DEEPEST = 32


def load(path: Path) -> Sidecar:
    """Read a sidecar.

    Raises:
        SidecarError: the file is missing, damaged, too large or written by a newer version, or a value is outside its
            limits.
    """
    return parse(path, raw(path))


def load_or_none(shot: Shot) -> Sidecar | None:
    """Read the sidecar of a shot; None if there is none.

    Raises:
        SidecarError: as `load`; or its path is too long for the file system, or its folder can't be searched.
    """
    try:
        os.stat(shot.sidecar_path)
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as fault:
        raise SidecarError(shot.sidecar_path, system_reason(fault, "can't be read")) from None
    return load(shot.sidecar_path)


def system_reason(fault: OSError, what: str) -> str:
    """The reason of a file system error in one line.

    Args:
        what: what failed, such as `can't be read`.
    """
    if fault.errno == errno.ENAMETOOLONG:
        return f"{what}: its name or path is longer than the disk takes; give the picture or its folder a shorter name"
    return f"{what}: {fault.strerror}"


def raw(path: Path) -> dict[str, Any]:
    """The JSON object in a file, with unknown keys.

    Raises:
        SidecarError: the file can't be read, or is not a JSON object.
    """
    try:
        with open(path, "rb", opener=open_regular_file) as file:
            content = file.read(LARGEST + 1)
    except OSError as fault:
        if fault.errno == errno.EINVAL:
            raise SidecarError(path, "not a regular file, so not a sidecar; move it away") from None
        raise SidecarError(path, system_reason(fault, "can't be read")) from None
    if len(content) > LARGEST:
        raise SidecarError(path, f"larger than {LARGEST // 2**20} MB, so not a sidecar; move it away")
    if not content.strip():
        raise SidecarError(path, "the sidecar is empty; delete it or put it back from a copy")
    try:
        found = json.loads(content, parse_constant=_no_constant, parse_float=_finite, object_pairs_hook=_once)
        _check_writable(found, content)
    except (ValueError, RecursionError) as fault:
        raise SidecarError(path, f"not valid JSON: {fault}; mend it or put it back from a copy") from None
    if not isinstance(found, dict):
        raise SidecarError(path, "a sidecar is a JSON object; mend it or put it back from a copy")
    return found


def parse(path: Path, found: dict[str, Any]) -> Sidecar:
    """Check a JSON object and convert it to a sidecar.

    Raises:
        SidecarError: it is not a sidecar, or a value is outside its limits.
    """
    version = found.get("poise")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise SidecarError(path, 'no "poise": 1, so not a sidecar of this program; add it or move the file away')
    if version > VERSION:
        raise SidecarError(path, f"written by a newer poise (format {version}, this one reads {VERSION}); update poise")
    try:
        return msgspec.convert(found, Sidecar)
    except msgspec.ValidationError as fault:
        where, reason = path_and_reason(fault)
        raise SidecarError(path, f"{where or 'sidecar'}: {reason}") from None


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number that JSON knows")


def _finite(digits: str) -> float:
    if math.isinf(number := float(digits)):
        raise ValueError(f"{digits[:20]} is beyond all numbers")
    return number


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object without duplicate keys, of which one would be lost."""
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        raise ValueError(f'the key "{next(key for key in keys if keys.count(key) > 1)[:40]}" occurs twice in an object')
    return found


def _check_writable(found: Any, content: bytes) -> None:
    """Refuse what could be read but not written again: deep nesting and lone surrogates."""
    level, depth = [found], 0
    while level := [
        below
        for value in level
        for below in (value.values() if isinstance(value, dict) else value if isinstance(value, list) else ())
    ]:
        depth += 1
        if depth > DEEPEST:
            raise ValueError(f"nested deeper than {DEEPEST} levels")
    if b"\\ud" in content.lower():
        json.dumps(found, ensure_ascii=False).encode()
