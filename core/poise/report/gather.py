"""From a folder to the rows of a sheet: finds the subjects, examines each in a process, and combines the results."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from poise.batch.manifest import Record, read
from poise.batch.plan import decision_of
from poise.batch.pool import LIMIT, in_order
from poise.batch.worker_process import LostJob
from poise.chain.source import resolve_source
from poise.correction import Correction
from poise.correction.reading import shot_under
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of_reel
from poise.delivery.limits import Limits
from poise.delivery.outputs import faults as of_outputs
from poise.delivery.shot import faults_of_shot
from poise.errors import FileError, UsageError
from poise.frames.scan import scan
from poise.frames.shots import Shot
from poise.report.look import ExaminedShot, Job, examine_shot
from poise.report.pictures import Size, size_for
from poise.scopes import Course, Drift, drift
from poise.scopes.course import levels_of
from poise.sidecar import Decision, Sidecar, State, load_or_none

ANOTHER = 30.0
"""Additional time limit for each frame of a sequence, in seconds."""


@dataclass(frozen=True)
class Subject:
    """The subject of a row: a shot, or a path that can't be one.

    Attributes:
        path: the still, or the pattern of a sequence, with its folder.
        sidecar: None if there is none or it can't be read.
        trouble: what is wrong with its path or its sidecar; empty if nothing is.
    """

    path: Path
    shot: Shot | None
    sidecar: Sidecar | None = None
    trouble: str = ""

    def __post_init__(self) -> None:
        if self.shot and self.sidecar:
            object.__setattr__(self, "shot", shot_under(self.shot, self.sidecar.encoding))

    @property
    def correction(self) -> Correction:
        """The correction that was decided for its judged frame; neutral without a sidecar."""
        return Decision.of(self.sidecar).decided(self.shot.number(self.judged) if self.shot else None)

    @property
    def state(self) -> State | None:
        """The state of its decision; None if it is unknown."""
        return self.sidecar.state if self.sidecar else None if self.trouble else "new"

    @property
    def decision(self) -> Decision | None:
        """The decision that `apply` carries out."""
        return None if self.shot is None else decision_of(self.sidecar, self.shot.first.parent)

    @property
    def judged(self) -> int:
        """The index of the judged frame among its files."""
        return self.shot.nearest(self.sidecar.judged if self.sidecar else None) if self.shot else 0


@dataclass(frozen=True)
class Row:
    """One row of a sheet.

    Attributes:
        examined: None if the shot can't be read.
        trouble: why it can't, or what else is wrong with its files, a sentence each.
        outputs: the records of its outputs in the manifest, by file of the shot.
        faults: delivery faults; none for shots that are held or skipped, or whose sidecar is damaged.
        drift: over the frames as they would be delivered; None for a still, or if they were not examined.
    """

    subject: Subject
    examined: ExaminedShot | None
    trouble: tuple[str, ...]
    outputs: Mapping[Path, Record]
    faults: tuple[Fault, ...] = ()
    drift: Drift | None = None

    @property
    def frame(self) -> int | None:
        """The number of the judged frame; None for a still."""
        shot = self.subject.shot
        return shot.number(self.subject.judged) if shot else None


def gather(paths: Iterable[Path], sidecars: Path | None = None) -> list[Subject]:
    """List all shots in paths, and all paths that should be shots but can't be.

    Raises:
        UsageError: there are no shots at all, or two of them would share a sidecar.
    """
    listing = scan(paths, sidecars=sidecars)
    subjects = [_subject(shot) for shot in listing.shots]
    faulty = [Subject(path, None, None, reason) for path, reason in listing.problems]
    if not subjects:
        reasons = "; ".join(str(FileError(one.path, one.trouble)) for one in faulty[:3])
        raise UsageError(reasons or "no pictures found; nothing to report")
    return [*subjects, *faulty]


def _subject(shot: Shot) -> Subject:
    path = shot.first.parent / shot.name
    try:
        return Subject(path, shot, load_or_none(shot))
    except FileError as fault:
        return Subject(path, shot, None, f"its sidecar can't be used: {fault.reason}")
    except OSError as fault:
        return Subject(path, shot, None, f"its sidecar can't be used: {fault.strerror}")


def examine_shots(
    subjects: Sequence[Subject], limits: Limits, workers: int, every: int = 0
) -> Iterator[tuple[int, ExaminedShot | str]]:
    """Examine all shots; yield the position of each among the subjects with the result, or the reason for a failure.

    Args:
        workers: largest number of processes.
        every: examine every Nth frame of a sequence for drift as well; 0 for the judged frame alone.

    Raises:
        KeyboardInterrupt: as `poise.batch.pool.in_order`.
    """
    size = size_for(len(subjects))
    jobs = [_job(place, one, one.shot, limits, every, size) for place, one in enumerate(subjects) if one.shot]
    longest = max((len(job.files) for job in jobs), default=0)
    for job, result in in_order(examine_shot, jobs, workers, LIMIT + ANOTHER * longest):
        yield job.place, result.reason if isinstance(result, LostJob) else result


def _job(place: int, one: Subject, shot: Shot, limits: Limits, every: int, size: Size) -> Job:
    encoding = resolve_source(one.sidecar.encoding, shot.first.parent) if one.sidecar else None
    return Job(
        *(place, shot.files[one.judged], shot.files, limits, shot.numbers),
        *(Decision.of(one.sidecar), encoding, every, size),
    )


def rows(
    subjects: Sequence[Subject], examined: Mapping[int, ExaminedShot | str], limits: Limits, outputs: Path | None = None
) -> list[Row]:
    """Build the rows of the sheet, in order.

    Args:
        examined: results by index among the subjects; a text is the reason for a failure.
        outputs: the folder that `apply` wrote to.

    Raises:
        OutputError: its manifest can't be read.
        UsageError: it is the folder of the sources.
    """
    records = read(outputs) if outputs else {}
    faults = _faults([(one, examined.get(place)) for place, one in enumerate(subjects)], limits, outputs)
    return [_row(one, examined.get(place), records, faults[place]) for place, one in enumerate(subjects)]


def _faults(
    known: Sequence[tuple[Subject, ExaminedShot | str | None]], limits: Limits, outputs: Path | None
) -> list[tuple[Fault, ...]]:
    """The delivery faults of each subject, by the rules of `poise check`."""
    delivered = [one.shot is not None and one.state in ("new", "balanced") for one, _ in known]
    found: dict[str, list[Fault]] = {str(one.path): [] for one, _ in known}
    reel = []
    for (one, examined), goes in zip(known, delivered, strict=True):
        if goes and one.shot and isinstance(examined, ExaminedShot) and examined.frames:
            name = str(one.path)
            found[name] += faults_of_shot(name, one.shot, examined.frames, limits, len(examined.frames) > 1)
            reel.append((name, examined.frames[one.judged]))
    more = list(faults_of_reel(reel, limits))
    if outputs:
        delivered_shots = [
            (one.shot, one.decision) for (one, _), goes in zip(known, delivered, strict=True) if goes and one.shot
        ]
        more += of_outputs(delivered_shots, outputs)
    for fault in more:
        found[fault.file].append(fault)
    return [tuple(found[str(one.path)]) for one, _ in known]


def _row(
    one: Subject, examined: ExaminedShot | str | None, records: Mapping[str, Record], faults: tuple[Fault, ...]
) -> Row:
    trouble = [one.trouble] if one.trouble else []
    found_outputs = _outputs(one.shot, records) if one.shot else {}
    if not isinstance(examined, ExaminedShot) or one.shot is None:
        return Row(one, None, (*trouble, *([examined] if isinstance(examined, str) else [])), found_outputs, faults)
    for place, reason in examined.unread.items():
        trouble.append(f"frame {one.shot.numbers[place]}: {reason}" if one.shot.numbers else reason)
    course = None
    if len(examined.frames) > 1:
        numbers = np.array([one.shot.numbers[place] for place in examined.frames])
        course = Course(numbers, np.array([levels_of(frame.readings) for frame in examined.frames.values()]))
    return Row(one, examined, tuple(trouble), found_outputs, faults, drift(course) if course else None)


def _outputs(shot: Shot, records: Mapping[str, Record]) -> dict[Path, Record]:
    """The records of a shot's outputs: each has the relative path of its source, with any extension."""
    found_outputs = {}
    for file in shot.files:
        place = shot.output(file)
        places = (place, shot.relative(file)) if shot.clip else (place,)
        found = (records.get(one.as_posix()) or _other_ending(one, file.name, records) for one in places)
        record = next(filter(None, found), None)
        if record is not None and Path(record.source).name == file.name:
            found_outputs[file] = record
    return found_outputs


def _other_ending(place: Path, name: str, records: Mapping[str, Record]) -> Record | None:
    from poise.frames.codecs import EXTENSIONS

    endings = (records.get(place.with_suffix(ending).as_posix()) for ending in EXTENSIONS)
    return next((one for one in endings if one is not None and Path(one.source).name == name), None)
