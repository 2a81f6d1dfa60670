"""The plan: shots and their decisions become jobs, and what is passed over or refused is named before work starts."""

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from msgspec.structs import replace

from poise.chain.source import located, transform
from poise.correction import Correction, Encoding
from poise.errors import PoiseError, UsageError
from poise.frames.codecs import FORMATS, by_extension
from poise.frames.shots import Problem, Shot
from poise.sidecar import UNDECIDED, Decision, Sidecar


@dataclass(frozen=True)
class Target:
    """Where outputs go and as what.

    Attributes:
        format: a name of `FORMATS`, None for the same.
        depth: a value of `Depth`, None for the same.
        stamp: whether outputs say what was applied.
    """

    folder: Path
    format: str | None = None
    depth: str | None = None
    stamp: bool = True


@dataclass(frozen=True)
class Job:
    """One frame to do: everything that a worker needs to know."""

    file: Path
    output: Path
    correction: Correction
    encoding: Encoding | None
    format: str
    depth: str | None
    stamp: bool = True


class PassedOver(NamedTuple):
    """A shot that is left out on purpose, and why."""

    file: Path
    reason: str


@dataclass(frozen=True)
class Plan:
    """What will be done.

    Attributes:
        target: where outputs go.
        jobs: one a frame, in order.
        passed_over: shots that are left out on purpose.
        refused: files whose output would stand on a source or on another output, and shots whose CLF can't be taken.
    """

    target: Target
    jobs: tuple[Job, ...]
    passed_over: tuple[PassedOver, ...]
    refused: tuple[Problem, ...]


def plan(shots: Iterable[tuple[Shot, Decision | None]], target: Target, everything: bool = False) -> Plan:
    """Every output of a run, checked against the sources and against each other; no picture is opened.

    An output has the source's path relative to the path that was asked for, under `target.folder`.

    Args:
        shots: each with its decision, None for a shot without a sidecar.
        everything: take shots without a sidecar as neutral.

    Raises:
        UsageError: the outputs' folder is that of the sources or sidecars, or the format can't hold the depth.

    Example:
        plan([(shot, Decision())], Target(Path("balanced"))).jobs
    """
    _possible(target)
    known = list(shots)
    for shot, _ in known:
        if os.path.realpath(target.folder) == os.path.realpath(shot.root):
            raise UsageError(f"{target.folder}: this folder holds the sources; choose another folder for --out")
        if shot.sidecars and os.path.realpath(target.folder) == os.path.realpath(shot.sidecars):
            raise UsageError(f"{target.folder}: this folder holds the sidecars; choose another folder for --out")
    sources = {_real(file) for shot, _ in known for file in shot.files}
    jobs: list[Job] = []
    passed: list[PassedOver] = []
    refused: list[Problem] = []
    outputs: dict[str, Path] = {}
    folder = os.path.realpath(target.folder)
    for shot, decision in known:
        reason = left_out(decision, everything)
        if reason:
            passed.append(PassedOver(shot.first.parent / shot.name, reason))
            continue
        decided = decision or UNDECIDED
        unfound = _unfound(decided.encoding)
        if unfound:
            refused.append(Problem(shot.first.parent / shot.name, unfound))
            continue
        for file in shot.files:
            output, kind = _output(shot, file, target)
            real = _real(output)
            clash = _clash(shot, output, real, folder, sources, outputs)
            if clash:
                refused.append(Problem(file, clash))
                continue
            outputs[real] = file
            jobs.append(Job(file, output, decided.correction, decided.encoding, kind, target.depth, target.stamp))
    return Plan(target, tuple(jobs), tuple(passed), tuple(refused))


def _possible(target: Target) -> None:
    if target.format and target.depth:
        kind = FORMATS[target.format]
        if target.depth not in kind.depths:
            raise UsageError(f"{kind.title} can't hold a depth of {target.depth}; use {' or '.join(kind.depths)}")


def decided(sidecar: Sidecar | None, folder: Path) -> Decision | None:
    """What is decided about a shot, its CLF looked for in the shot's folder; None where it has no sidecar."""
    if sidecar is None:
        return None
    return replace(Decision.of(sidecar), encoding=located(sidecar.encoding, folder))


def left_out(decision: Decision | None, everything: bool) -> str | None:
    """Why a shot is passed over, or None.

    Args:
        everything: take shots without a sidecar as neutral.

    Example:
        >>> left_out(Decision(state="held", note="fog"), everything=False)
        'held: fog'
    """
    if decision is None:
        return None if everything else "no sidecar; run poise auto, or take it as neutral with --all"
    if decision.state in ("held", "skipped"):
        return decision.state + (f": {decision.note}" if decision.note else "")
    return None


def _unfound(encoding: Encoding | None) -> str | None:
    """Why a shot's source can't be taken, told once and not for each of its frames; None where it can."""
    try:
        transform(encoding or Encoding())
    except PoiseError as fault:
        return str(fault)
    return None


def _output(shot: Shot, file: Path, target: Target) -> tuple[Path, str]:
    same = by_extension(file)
    assert same is not None  # scan lists nothing else
    output = target.folder / shot.relative(file)
    if target.format in (None, same.name):
        return output, same.name
    kind = FORMATS[target.format or same.name]
    return output.with_suffix(kind.extensions[0]), kind.name


def _clash(shot: Shot, output: Path, real: str, folder: str, sources: set[str], outputs: dict[str, Path]) -> str | None:
    if os.path.commonpath([real, folder]) != folder:
        return f"its output {output} would leave the folder through a link; take the link away"
    if real in sources:
        return f"its output would overwrite the source {output}; choose another folder for --out"
    if real in outputs:
        return f"its output {output} is also that of {outputs[real]}; apply them to different folders"
    named = shot.name if output.suffix == shot.first.suffix else Path(shot.name).with_suffix(output.suffix).name
    if (output.parent / f"{named}.poise.json").exists():
        return f"{output} has a sidecar, so it is a source; choose another folder for --out"
    return None


def _real(path: Path) -> str:
    """The path with links in its folder followed: what a write to it replaces."""
    return os.path.join(os.path.realpath(path.parent), path.name)
