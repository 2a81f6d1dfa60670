"""Sidecars whose picture is gone: what was decided is about nothing."""

import os
from collections.abc import Collection, Iterable
from pathlib import Path

from poise.delivery.fault import Fault
from poise.frames.scan import MANIFEST

ENDING = ".poise.json"


def alone(paths: Iterable[Path], known: Collection[Path]) -> list[Fault]:
    """Sidecars beside no picture, in folders and below; folders of outputs are passed over, as a scan does.

    Args:
        known: sidecars that belong to a shot.

    Example:
        alone([Path("day")], {Path("day/quay_02.tif.poise.json")})
    """
    found = []
    for path in paths:
        for top, folders, files in os.walk(path):
            folders[:] = sorted(f for f in folders if not f.startswith(".") and not _outputs(Path(top, f)))
            for name in sorted(files):
                sidecar = Path(top, name)
                about = sidecar.with_name(name.removesuffix(ENDING))
                if name.endswith(ENDING) and sidecar not in known and not name.startswith(".") and not about.exists():
                    words = f"there is no picture {about.name} beside it; put that back, or take the sidecar away"
                    found.append(Fault(str(sidecar), "alone", words=words))
    return found


def _outputs(folder: Path) -> bool:
    return (folder / MANIFEST).is_file()
