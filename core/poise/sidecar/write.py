"""Writes a sidecar atomically; keeps unknown keys, and never overwrites a later save by someone else."""

import contextlib
import datetime
import fcntl
import json
import os
import stat
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import replace

from poise import __version__
from poise.atomic import atomic_replace, orphan, shortened
from poise.correction.checks import checked
from poise.errors import SidecarError, ValueFault
from poise.sidecar.read import parse, raw, system_reason
from poise.sidecar.schema import Sidecar, Written


class SidecarConflict(SidecarError):
    """Someone else has saved since the sidecar was read; `kept` is the file that this version was saved to instead."""

    def __init__(self, path: Path, kept: Path) -> None:
        super().__init__(path, f"changed by someone else since it was read; your version is in {kept.name}")
        self.kept = kept


def save(path: Path, sidecar: Sidecar, read: Sidecar | None) -> Sidecar:
    """Save a sidecar with the next revision, and return it with that revision; creates its folder if necessary.

    Args:
        read: the sidecar as last read or saved; None if there was no file.

    Raises:
        SidecarConflict: the file on disk differs from `read`, or is gone. It is not changed, and `sidecar` is saved
            beside it.
        SidecarError: a value is outside its limits, or the file can't be written, or the file on disk is damaged, newer
            or a link; it is not changed.

    Example:
        save(path, replace(read, note="fog"), read)
    """
    if os.path.islink(path):
        raise SidecarError(path, "a link, which saving would replace; put the file itself in its place")
    try:
        sidecar = checked(sidecar)
        path.parent.mkdir(parents=True, exist_ok=True)
        with _locked(path.parent):
            _sweep(path)
            there = raw(path) if path.exists() else None
            found = parse(path, there) if there is not None else None
            now = datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
            revision = found.revision + 1 if found else 1
            saved = replace(sidecar, revision=revision, written=Written(f"poise {__version__}", now))
            text = _text(merged(there or {}, msgspec.to_builtins(saved)))
            if found != read:
                kept = _free_name(path)
                _replace(kept, text)
                raise SidecarConflict(path, kept)
            _replace(path, text)
            return saved
    except OSError as fault:
        raise SidecarError(path, system_reason(fault, "can't be saved")) from None
    except (ValueFault, ValueError) as fault:
        raise SidecarError(path, f"can't be saved: {fault}") from None


def set_aside(path: Path) -> Path:
    """Rename a sidecar, valid or not, to the next free `NAME.conflict-N`, and return that path.

    Raises:
        SidecarError: there is no sidecar, or the folder can't be written.

    Example:
        set_aside(Path("quay_02.tif.poise.json"))  # quay_02.tif.poise.json.conflict-1
    """
    try:
        with _locked(path.parent):
            kept = _free_name(path)
            os.rename(path, kept)
            _sync(path.parent)
            return kept
    except OSError as fault:
        raise SidecarError(path, f"can't be set aside: {fault.strerror}") from None


def merged(old: dict[str, Any], new: dict[str, Any]) -> dict[str, Any]:
    """Merge new values into old ones; at every level, keys that only the old object has are kept.

    Mattes are matched by name, of several with one name by their order, and keyframes by their frame number. Of
    `versions`, only new ones stay.

    Example:
        >>> merged({"crew": "night", "note": ""}, {"note": "check"})
        {'crew': 'night', 'note': 'check'}
    """
    result = {**old, **new}
    for key, value in new.items():
        before = old.get(key)
        if isinstance(value, dict) and isinstance(before, dict):
            # versions are named by people: one that is gone was deleted
            there = {name: before[name] for name in value if name in before} if key == "versions" else before
            result[key] = merged(there, value)
        elif key == "mattes" and isinstance(before, list):
            result[key] = _mattes(before, value)
        elif key == "keyframes" and isinstance(before, list):
            there = {keyframe["frame"]: keyframe for keyframe in before}
            result[key] = [merged(there.get(keyframe["frame"], {}), keyframe) for keyframe in value]
    return result


def _mattes(old: list[dict[str, Any]], new: list[dict[str, Any]]) -> list[dict[str, Any]]:
    named = defaultdict(list)
    for matte in reversed(old):
        named[matte["name"]].append(matte)
    return [merged(named[matte["name"]].pop() if named[matte["name"]] else {}, matte) for matte in new]


def _text(value: dict[str, Any]) -> bytes:
    return (json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _replace(path: Path, content: bytes) -> None:
    mode = stat.S_IMODE(path.stat().st_mode) if path.exists() else None
    with atomic_replace(path) as temporary, temporary.open("wb") as file:
        if mode is not None:
            os.fchmod(file.fileno(), mode)
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    _sync(path.parent)


def _sync(folder: Path) -> None:
    """Wait until the entries of a folder are on disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Lock the folder, so that one of two writers sees what the other saved; leaves no lock file."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # some network file systems don't support locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _sweep(path: Path) -> None:
    for entry in os.scandir(path.parent):
        if orphan(entry.name) == shortened(path.name):
            with contextlib.suppress(OSError):
                os.unlink(entry.path)


def _free_name(path: Path) -> Path:
    number = 1
    while os.path.lexists(kept := path.with_name(f"{shortened(path.name)}.conflict-{number}")):
        number += 1
    return kept
