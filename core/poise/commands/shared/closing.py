"""The last lines of `poise apply`: what it wrote, and what to do next."""

from poise.batch.run import Summary
from poise.commands.shared.output import shown


def closing(folder: str, asked: int, summary: Summary, failed: int) -> list[str]:
    """The result of a run, in lines.

    Args:
        folder: the folder of the outputs.
        asked: number of frames in the plan.
        failed: number of files that failed, before the run or during it.

    Example:
        >>> from pathlib import Path
        >>> closing("balanced", 1, Summary(done=(Path("quay_02.tif"),), seconds=0.8), 0)
        ['1 frame written to balanced in 0.8 s']
    """
    folder, done, unchanged = shown(folder), len(summary.done), len(summary.unchanged)
    new = asked - unchanged
    lines = [_up_to_date(folder, unchanged)] if not new else [_written(folder, done, new, summary.seconds)]
    if new and unchanged:
        lines[0] += f"; {unchanged} {'was' if unchanged == 1 else 'were'} up to date"
    if failed:
        it = "it" if failed == 1 else "them"
        lines.append(f"{failed} failed, listed above; fix {it} and run the same command again")
    if summary.interrupted:
        lines.append("interrupted; run the same command again to continue")
    return lines


def frames(number: int) -> str:
    """A number of frames as text."""
    return f"{number} frame" + ("" if number == 1 else "s")


def _written(folder: str, done: int, new: int, seconds: float) -> str:
    if not done:
        return f"nothing written to {folder}"
    return f"{frames(done) if done == new else f'{done} of {frames(new)}'} written to {folder} in {seconds:.1f} s"


def _up_to_date(folder: str, number: int) -> str:
    are, them = ("is", "it") if number == 1 else ("are", "them")
    return f"nothing to do: {frames(number)} in {folder} {are} up to date; --fresh writes {them} again"
