"""Faults of sidecars whose picture is missing."""

import os
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from poise.delivery.fault import Fault
from poise.frames.scan import MANIFEST

ENDING = ".poise.json"


def orphan_sidecars(paths: Iterable[Path], known: Collection[Path]) -> list[Fault]:
    """The faults of sidecars without a picture, in folders and below; folders of outputs are ignored, as by a scan.

    Args:
        known: sidecars that belong to a shot.

    Example:
        orphan_sidecars([Path("day")], {Path("day/quay_02.tif.poise.json")})
    """
    found = []
    for path in paths:
        for sidecar in _sidecars(path):
            about = sidecar.with_name(sidecar.name.removesuffix(ENDING))
            if sidecar not in known and not os.path.exists(about):
                words = f"there is no picture {about.name} next to it; restore it, or delete the sidecar"
                found.append(Fault(str(sidecar), "alone", words=words))
    return found


def _sidecars(path: Path) -> Iterator[Path]:
    """The sidecars in a folder and below; the scan reports folders that can't be read."""
    below = [path]
    while below:
        folders = []
        try:
            with os.scandir(folder := below.pop()) as entries:
                for entry in sorted(entries, key=lambda entry: entry.name):
                    if entry.name.startswith("."):
                        continue
                    if entry.is_dir(follow_symlinks=False):
                        folders.append(folder / entry.name)
                    elif entry.name.endswith(ENDING):
                        yield folder / entry.name
        except OSError:
            continue
        below += (one for one in reversed(folders) if not os.path.isfile(one / MANIFEST))
