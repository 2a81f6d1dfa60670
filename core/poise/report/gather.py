"""Gathering: a folder becomes subjects, a job each, and with what was seen the rows of a sheet."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from poise.batch.manifest import Record, read
from poise.batch.plan import decision_of
from poise.batch.pool import LIMIT, in_order
from poise.batch.worker_process import LostJob
from poise.chain.source import located
from poise.correction import NEUTRAL, Correction
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of_reel
from poise.delivery.limits import Limits
from poise.delivery.outputs import faults as of_outputs
from poise.delivery.shot import faults_of_shot
from poise.errors import FileError, UsageError
from poise.frames.scan import scan
from poise.frames.shots import Shot
from poise.report.look import ExaminedShot, Job, examine_shot
from poise.scopes import Course, Drift, drift
from poise.scopes.course import levels_of
from poise.sidecar import Decision, Sidecar, State, load_or_none

ANOTHER = 30.0
"""Seconds that each further frame of a sequence may take."""


@dataclass(frozen=True)
class Subject:
    """What a row is about: a shot, or a path that can't be one.

    Attributes:
        path: the still, or the pattern of a sequence, with its folder.
        sidecar: None where there is none, and where it can't be read.
        trouble: what is wrong with its path or its sidecar; empty where nothing is.
    """

    path: Path
    shot: Shot | None
    sidecar: Sidecar | None = None
    trouble: str = ""

    @property
    def correction(self) -> Correction:
        return self.sidecar.correction if self.sidecar else NEUTRAL

    @property
    def state(self) -> State | None:
        """None where it can't be known."""
        return self.sidecar.state if self.sidecar else None if self.trouble else "new"

    @property
    def decision(self) -> Decision | None:
        """What apply goes by."""
        return None if self.shot is None else decision_of(self.sidecar, self.shot.first.parent)

    @property
    def judged(self) -> int:
        """The place among its frames of the one that it is judged on."""
        return self.shot.nearest(self.sidecar.judged if self.sidecar else None) if self.shot else 0


@dataclass(frozen=True)
class Row:
    """One row of a sheet.

    Attributes:
        seen: None where the shot can't be read.
        trouble: why not, or what else is wrong with its files, a sentence each.
        drift: over the frames as they would be delivered; None for a still, and where they were not looked at.
        outputs: by file of the shot, what the manifest of the outputs says was made of it.
        faults: what a delivery may not have; none for what is not delivered: held, skipped, or with a broken sidecar.
    """

    subject: Subject
    seen: ExaminedShot | None
    trouble: tuple[str, ...]
    outputs: Mapping[Path, Record]
    faults: tuple[Fault, ...] = ()
    drift: Drift | None = None

    @property
    def frame(self) -> int | None:
        """The number of the frame that the shot is judged on; None for a still."""
        shot = self.subject.shot
        return shot.numbers[self.subject.judged] if shot and shot.numbers else None


def gather(paths: Iterable[Path], sidecars: Path | None = None) -> list[Subject]:
    """All shots in paths, and all that stands in for one: nothing is left out.

    Raises:
        UsageError: there are no shots at all, or two of them would share a sidecar.
    """
    listing = scan(paths, sidecars=sidecars)
    subjects = [_subject(shot) for shot in listing.shots]
    faulty = [Subject(path, None, None, reason) for path, reason in listing.problems]
    if not subjects:
        told = "; ".join(str(FileError(one.path, one.trouble)) for one in faulty[:3])
        raise UsageError(told or "no pictures found; nothing to report")
    return [*subjects, *faulty]


def _subject(shot: Shot) -> Subject:
    path = shot.first.parent / shot.name
    try:
        return Subject(path, shot, load_or_none(shot))
    except FileError as fault:
        return Subject(path, shot, None, f"its sidecar can't be used: {fault.reason}")
    except OSError as fault:
        return Subject(path, shot, None, f"its sidecar can't be used: {fault.strerror}")


def looks(
    subjects: Sequence[Subject], limits: Limits, workers: int, every: int = 0
) -> Iterator[tuple[int, ExaminedShot | str]]:
    """Examine all shots; yield the position of each among the subjects with the result, or the reason for a failure.

    Args:
        workers: largest number of processes.
        every: examine every Nth frame of a sequence for drift as well; 0 for the judged frame alone.

    Raises:
        KeyboardInterrupt: as `poise.batch.pool.in_order`.
    """
    jobs = [_job(place, one, one.shot, limits, every) for place, one in enumerate(subjects) if one.shot]
    longest = max((len(job.files) for job in jobs), default=0)
    for job, result in in_order(examine_shot, jobs, workers, LIMIT + ANOTHER * longest):
        yield job.place, result.reason if isinstance(result, LostJob) else result


def _job(place: int, one: Subject, shot: Shot, limits: Limits, every: int) -> Job:
    encoding = located(one.sidecar.encoding, shot.first.parent) if one.sidecar else None
    return Job(place, shot.files[one.judged], shot.files, limits, shot.numbers, one.correction, encoding, every)


def rows(
    subjects: Sequence[Subject], seen: Mapping[int, ExaminedShot | str], limits: Limits, outputs: Path | None = None
) -> list[Row]:
    """The rows of what is known, in order.

    Args:
        seen: by the place among the subjects.
        outputs: the folder that they were applied to.

    Raises:
        OutputError: its manifest can't be read.
        UsageError: it is that of the sources.
    """
    records = read(outputs) if outputs else {}
    faults = _faults([(one, seen.get(place)) for place, one in enumerate(subjects)], limits, outputs)
    return [_row(one, seen.get(place), records, faults[place]) for place, one in enumerate(subjects)]


def _faults(
    known: Sequence[tuple[Subject, ExaminedShot | str | None]], limits: Limits, outputs: Path | None
) -> list[tuple[Fault, ...]]:
    """What is wrong with each as it would be delivered, by the rules of `poise check`."""
    delivered = [one.shot is not None and one.state in ("new", "balanced") for one, _ in known]
    found: dict[str, list[Fault]] = {str(one.path): [] for one, _ in known}
    reel = []
    for (one, seen), goes in zip(known, delivered, strict=True):
        if goes and one.shot and isinstance(seen, ExaminedShot) and seen.frames:
            name = str(one.path)
            found[name] += faults_of_shot(name, one.shot, seen.frames, limits, len(seen.frames) > 1)
            reel.append((name, seen.frames[one.judged]))
    more = list(faults_of_reel(reel, limits))
    if outputs:
        made = [(one.shot, one.decision) for (one, _), goes in zip(known, delivered, strict=True) if goes and one.shot]
        more += of_outputs(made, outputs)
    for fault in more:
        found[fault.file].append(fault)
    return [tuple(found[str(one.path)]) for one, _ in known]


def _row(
    one: Subject, seen: ExaminedShot | str | None, records: Mapping[str, Record], faults: tuple[Fault, ...]
) -> Row:
    trouble = [one.trouble] if one.trouble else []
    made = _outputs(one.shot, records) if one.shot else {}
    if not isinstance(seen, ExaminedShot) or one.shot is None:
        return Row(one, None, (*trouble, *([seen] if isinstance(seen, str) else [])), made, faults)
    for place, reason in seen.unread.items():
        trouble.append(f"frame {one.shot.numbers[place]}: {reason}" if one.shot.numbers else reason)
    course = None
    if len(seen.frames) > 1:
        numbers = np.array([one.shot.numbers[place] for place in seen.frames])
        course = Course(numbers, np.array([levels_of(frame.readings) for frame in seen.frames.values()]))
    return Row(one, seen, tuple(trouble), made, faults, drift(course) if course else None)


def _outputs(shot: Shot, records: Mapping[str, Record]) -> dict[Path, Record]:
    """What was made of a shot's files: an output stands below its folder where the source does, under any ending."""
    made = {}
    for file in shot.files:
        place = shot.relative(file)
        record = records.get(place.as_posix()) or _other_ending(place, records)
        if record is not None and Path(record.source).name == file.name:
            made[file] = record
    return made


def _other_ending(place: Path, records: Mapping[str, Record]) -> Record | None:
    from poise.frames.codecs import EXTENSIONS

    endings = (records.get(place.with_suffix(ending).as_posix()) for ending in EXTENSIONS)
    return next((one for one in endings if one is not None and Path(one.source).name == place.name), None)
