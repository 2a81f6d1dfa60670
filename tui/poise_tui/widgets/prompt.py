"""A line to type on, in place of the hints."""

from textual.widgets import Input

from poise_tui.actions import Question

LABELS: dict[Question, str] = {"find": "find", "note": "note", "command": ":"}


class Prompt(Input, inherit_css=False):
    """One line; Enter takes it, Escape leaves it."""

    DEFAULT_CSS = """
    Prompt { height: 1; border: none; padding: 0; background: $background; color: $foreground; }
    Prompt > .input--cursor { background: $foreground; color: $background; }
    """

    def __init__(self) -> None:
        super().__init__(id="prompt", select_on_focus=False, compact=True)
        self.question: Question = "command"

    def open(self, question: Question, value: str = "") -> None:
        """Ask something."""
        self.question = question
        self.value = value
        self.cursor_position = len(value)
        self.focus()
