"""Finds the demo reel: in the repository that poise runs from, or in the installed package."""

from contextlib import suppress
from importlib.resources import files
from pathlib import Path

from poise.errors import PoiseError

TRUTH = "truth.json"


def demo_folder() -> Path:
    """The folder with the demo frames and `truth.json`.

    Raises:
        PoiseError: the demo frames are not installed.

    Example:
        demo_folder() / "quay_01.tif"
    """
    candidates = [Path(__file__).parents[4] / "demo_frames"]  # ahead of a copy that an earlier install made
    with suppress(ModuleNotFoundError):
        candidates.append(Path(str(files("poise_demo_frames") / TRUTH)).parent)
    for folder in candidates:
        if (folder / TRUTH).is_file():
            return folder
    raise PoiseError("the demo frames are not installed; install poise again")
