"""Writing a sidecar: whole or not at all, unknown keys kept, and never over someone else's later work."""

import contextlib
import datetime
import fcntl
import json
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import replace

from poise import __version__
from poise.correction.model import checked
from poise.errors import SidecarError, ValueFault
from poise.sidecar.read import parse, raw
from poise.sidecar.schema import Sidecar, Written
from poise.temporary import beside, orphan


class SidecarConflict(SidecarError):
    """Someone else saved since the sidecar was read; `kept` is where this work was put instead."""

    def __init__(self, path: Path, kept: Path) -> None:
        super().__init__(path, f"changed by someone else since it was read; your version is in {kept.name}")
        self.kept = kept


def save(path: Path, sidecar: Sidecar, expected_revision: int | None) -> Sidecar:
    """Saves a sidecar with the next revision, and returns it so.

    Args:
        expected_revision: the revision that was read; None when there was no file.

    Raises:
        SidecarConflict: the file on disk is at another revision.
        SidecarError: a value outside its limits; the file on disk is damaged, newer or a link (it is left as it is), or
            it can't be written.
    """
    if path.is_symlink():
        raise SidecarError(path, "a link, which saving would replace; put the file itself here")
    try:
        checked(sidecar)
        with _held(path.parent):
            _sweep(path)
            there = raw(path) if path.exists() else None
            found = parse(path, there).revision if there is not None else None
            now = datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
            saved = replace(sidecar, revision=(found or 0) + 1, written=Written(f"poise {__version__}", now))
            if found != expected_revision:
                kept = _beside(path)
                _replace(kept, _text(msgspec.to_builtins(saved)))
                raise SidecarConflict(path, kept)
            _replace(path, _text(merged(there or {}, msgspec.to_builtins(saved))))
            return saved
    except OSError as fault:
        raise SidecarError(path, f"can't be saved: {fault.strerror}") from None
    except (ValueFault, ValueError) as fault:
        raise SidecarError(path, f"can't be saved: {fault}") from None


def merged(old: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    """New values over old ones, keys that only the old has kept at every level; mattes are matched by name.

    Example:
        >>> merged({"crew": "night", "note": ""}, {"note": "check"})
        {'crew': 'night', 'note': 'check'}
    """
    result = {**old, **new}
    for key, value in new.items():
        before = old.get(key)
        if isinstance(value, dict) and isinstance(before, dict):
            result[key] = merged(before, value)
        elif key == "mattes" and isinstance(before, list):
            named = {m.get("name"): m for m in before if isinstance(m, dict)}
            result[key] = [merged(named.get(m["name"], {}), m) for m in value]
    return result


def _text(value: dict[str, Any]) -> bytes:
    return (json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _replace(path: Path, content: bytes) -> None:
    temporary = beside(path)
    mode = stat.S_IMODE(path.stat().st_mode) if path.exists() else None
    try:
        with temporary.open("wb") as file:
            if mode is not None:
                os.fchmod(file.fileno(), mode)
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


@contextlib.contextmanager
def _held(folder: Path) -> Iterator[None]:
    """The folder locked, so that of two writers one sees what the other saved; no lock file is left behind."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # some network file systems have no locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _sweep(path: Path) -> None:
    for entry in os.scandir(path.parent):
        if orphan(entry.name) == path.name:
            with contextlib.suppress(OSError):
                os.unlink(entry.path)


def _beside(path: Path) -> Path:
    number = 1
    while (kept := path.with_name(f"{path.name}.conflict-{number}")).exists():
        number += 1
    return kept
