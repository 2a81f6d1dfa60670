"""The last lines of `poise apply`: what stands in the folder now, and what to do next."""

from poise.batch.run import Summary
from poise.commands.shared.output import shown


def closing(folder: str, asked: int, summary: Summary, failed: int) -> list[str]:
    """What a run came to, a line each.

    Args:
        asked: frames of the plan.
        failed: files that failed, before the run or in it.

    Example:
        >>> from pathlib import Path
        >>> closing("balanced", 1, Summary(done=(Path("quay_02.tif"),), seconds=0.8), 0)
        ['1 frame written to balanced in 0.8 s']
    """
    folder, done, stands = shown(folder), len(summary.done), len(summary.unchanged)
    new = asked - stands
    lines = [_stands(folder, stands)] if not new else [_written(folder, done, new, summary.seconds)]
    if new and stands:
        lines[0] += f"; {stands} more stand{'s' * (stands == 1)} there from an earlier run"
    if failed:
        them = "that" if failed == 1 else "those"
        lines.append(f"{failed} failed, named above; once mended, the same command does only {them}")
    if summary.interrupted:
        lines.append("interrupted; the same command goes on where this one ended")
    return lines


def frames(number: int) -> str:
    """A number of frames in words."""
    return f"{number} frame" + ("" if number == 1 else "s")


def _written(folder: str, done: int, new: int, seconds: float) -> str:
    if not done:
        return f"nothing written to {folder}"
    return f"{frames(done) if done == new else f'{done} of {frames(new)}'} written to {folder} in {seconds:.1f} s"


def _stands(folder: str, number: int) -> str:
    them = "it" if number == 1 else "them"
    stand = f"{frames(number)} stand{'s' * (number == 1)} in {folder}"
    return f"nothing new: {stand} as this command would make {them}; --fresh makes {them} anew"
