"""What outputs of a batch could not keep of their sources: one line for each kind, however many frames it concerns."""

from collections.abc import Callable
from pathlib import Path

from poise.batch.run import Outcome
from poise.commands.shared.output import Report


class Notes:
    """Collects notes as frames end, counted by text and folder.

    Example:
        notes = Notes()
        run(planned, execute, notes.collecting(reporter.update))
        notes.report_to(report)
    """

    def __init__(self) -> None:
        self._first: dict[tuple[Path, str], tuple[Path, int]] = {}

    def collecting(self, update: Callable[[Outcome], None]) -> Callable[[Outcome], None]:
        """A callback that collects the notes of an outcome, then calls `update`."""

        def both(outcome: Outcome) -> None:
            for text in outcome.result.notes if outcome.result else ():
                place = outcome.job.file.parent, text
                first, count = self._first.get(place, (outcome.job.file, 0))
                self._first[place] = min(first, outcome.job.file), count + 1
            update(outcome)

        return both

    def report_to(self, report: Report) -> None:
        """Print a line for each note and folder: the first file, and how many more."""
        for (_, text), (file, count) in self._first.items():
            report.note(file, text + (f" (and {count - 1} more in this folder)" if count > 1 else ""))
