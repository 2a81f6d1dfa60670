"""The last lines of `poise apply`: what it wrote, and what to do next."""

from poise.batch.run import Summary
from poise.commands.shared.output import shown


def closing(folder: str, asked: int, summary: Summary, failed: int, what: str = "frame") -> list[str]:
    """The result of a run, in lines.

    Args:
        folder: the folder of the outputs.
        asked: number of frames in the plan.
        failed: number of files that failed, before the run or during it.
        what: an output is called; a movie is a file of many frames.

    Example:
        >>> from pathlib import Path
        >>> closing("balanced", 1, Summary(done=(Path("quay_02.tif"),), seconds=0.8), 0)
        ['1 frame written to balanced in 0.8 s']
    """
    folder, done, unchanged = shown(folder), len(summary.done), len(summary.unchanged)
    new = asked - unchanged
    lines = [_up_to_date(folder, unchanged, what) if not new else _written(folder, done, new, summary.seconds, what)]
    if new and unchanged:
        lines[0] += f"; {unchanged} {'was' if unchanged == 1 else 'were'} up to date"
    if failed:
        it = "it" if failed == 1 else "them"
        lines.append(f"{failed} failed, listed above; fix {it} and run the same command again")
    if summary.interrupted:
        lines.append("interrupted; run the same command again to continue")
    return lines


def frames(number: int, what: str = "frame") -> str:
    """A number of frames, or of other things, as text."""
    return f"{number} {what}" + ("" if number == 1 else "s")


def _written(folder: str, done: int, new: int, seconds: float, what: str) -> str:
    if not done:
        return f"nothing written to {folder}"
    count = frames(done, what) if done == new else f"{done} of {frames(new, what)}"
    return f"{count} written to {folder} in {seconds:.1f} s"


def _up_to_date(folder: str, number: int, what: str) -> str:
    are, them = ("is", "it") if number == 1 else ("are", "them")
    return f"nothing to do: {frames(number, what)} in {folder} {are} up to date; --fresh writes {them} again"
