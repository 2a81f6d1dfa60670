"""What outputs of a batch could not keep of their sources: each kind is told once, however many frames it is."""

from collections.abc import Callable
from pathlib import Path

from poise.batch.run import Outcome
from poise.commands.shared.output import Report


class Notes:
    """Notes as frames end, counted by what they say and the folder of the file.

    Example:
        notes = Notes()
        run(planned, execute, notes.beside(told))
        notes.tell(report)
    """

    def __init__(self) -> None:
        self._first: dict[tuple[Path, str], tuple[Path, int]] = {}

    def beside(self, told: Callable[[Outcome], None]) -> Callable[[Outcome], None]:
        """The same as `told`, with the notes taken down."""

        def both(outcome: Outcome) -> None:
            for text in outcome.made.notes if outcome.made else ():
                place = outcome.job.file.parent, text
                first, count = self._first.get(place, (outcome.job.file, 0))
                self._first[place] = min(first, outcome.job.file), count + 1
            told(outcome)

        return both

    def tell(self, report: Report) -> None:
        """A line for each note and folder: the first file, and how many more."""
        for (_, text), (file, count) in self._first.items():
            report.note(file, text + (f" (and {count - 1} more in this folder)" if count > 1 else ""))
