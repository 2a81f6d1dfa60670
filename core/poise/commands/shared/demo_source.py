"""Finds the demo reel: in the installed package, or in the repository of an editable install."""

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
    candidates = [Path(__file__).parents[3] / "demo_frames"]
    with suppress(ModuleNotFoundError):
        candidates.insert(0, Path(str(files("poise_demo_frames") / TRUTH)).parent)
    for folder in candidates:
        if (folder / TRUTH).is_file():
            return folder
    raise PoiseError("the demo frames are not installed; install poise again")
