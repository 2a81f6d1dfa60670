"""The prompt of the desk screen: opening it, typing on it, completing, choosing from a list."""

from textual import events

from poise.errors import PoiseError
from poise_tui.actions import COLUMNS, MOVES, Question
from poise_tui.desk.matte import present
from poise_tui.desk.settings import of_column
from poise_tui.edits import versions
from poise_tui.edits.chooser import Chooser
from poise_tui.edits.completion import Completion
from poise_tui.screens.desk_texts import DeskTexts
from poise_tui.widgets.prompt import Prompt


class DeskPrompt(DeskTexts, inherit_bindings=False):
    """Asks and completes; `desk.py` answers."""

    _numbering = False
    """Whether the next key is to name a column."""

    def _typed(self, event: events.Key) -> None:
        """Handles a key of the prompt; it takes effect at once, so that keys typed ahead keep their order."""
        prompt = self.query_one(Prompt)
        if prompt.question == "command" and event.key == "tab":
            self._complete(prompt)
            return
        if self._completion is not None:
            self._completion = None
            self._rearrange()
        if self._chooser is not None and event.key in ("up", "down", "tab"):
            self._chosen(self._chooser, event.key)
        elif event.key == "enter":
            self._answered(prompt.question, prompt.value)
        elif event.key == "escape":
            if self._chooser is not None:
                self._chooser.leave()
            if prompt.question == "list":
                self.session.listing.ask(text=prompt.opened)
            self._leave_prompt()
        else:
            prompt.edit(event)
            if prompt.question == "list":
                self.session.listing.ask(text=prompt.value)
                self.changed()
            elif self._chooser is not None:
                self._chooser.narrow(prompt.value)
                self.changed()

    def _chosen(self, chooser: Chooser, key: str) -> None:
        """Handles a key of a chooser that is not typed."""
        if key == "tab":
            chooser.turn()
            self.ask("choice")
        else:
            chooser.move(+1 if key == "down" else -1)
            self.changed()

    def _complete(self, prompt: Prompt) -> None:
        """Puts the next line that the typed one can become into the prompt; lists them if there are several."""
        if self._completion is None:
            lines = self.completions(prompt.value)
            if not lines:
                self.app.bell()
                return
            completion = Completion(lines)
            self._completion = completion if len(lines) > 1 else None
        else:
            completion = self._completion
            completion.next()
        prompt.open("command", completion.line)
        self._rearrange()

    def ask(self, question: Question) -> None:
        decision = self.session.slot.decision
        there = {"note": decision.note, "list": self.session.listing.wish.text}.get(question, "")
        if question == "name":
            there = present(decision.correction, self.session.hand).name
        if question == "version":
            there = versions.proposed(self.session)
        if self._column is not None:
            there = of_column(self.session.column(self._column), self.session.hand).text(
                decision.correction, self.session.hand
            )
        self._asking = True
        self.query_one(Prompt).open(question, there, replace=question in ("number", "version"))
        self._rearrange()

    def choose(self, chooser: Chooser) -> None:
        if not self.names:
            self._coordinator.warm()
        self._chooser = chooser
        self.ask("choice")

    def number(self) -> None:
        self._numbering = True
        self.say("type a number for which column? press one of its keys")

    def _number_of(self, name: str | None) -> None:
        """Opens the prompt for the number of the column that a key belongs to.

        Raises:
            PoiseError: the key belongs to no column, or the column to no number of this shot.
        """
        self._numbering = False
        column, _, move = (name or "").rpartition(".")
        if column not in COLUMNS or move not in MOVES:
            raise PoiseError("that key belongs to no column: no number typed")
        place = COLUMNS.index(column)
        session = self.session
        session.suited(session.column(place), session.index)
        self._column = place
        try:
            self.ask("number")
        except PoiseError:
            self._column = None
            raise

    def _leave_prompt(self) -> None:
        self._asking, self._chooser, self._completion, self._column = False, None, None, None
        self._rearrange()

    @property
    def names(self) -> tuple[str, ...]:
        return self._coordinator.names

    def _answered(self, question: Question, value: str) -> None:
        """Leaves the prompt, and does what was asked for; implemented by the screen."""
        raise NotImplementedError

    def completions(self, line: str) -> list[str]:
        """The lines that a typed line can become; implemented by the screen."""
        raise NotImplementedError
