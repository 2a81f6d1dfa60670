"""The prompt: a line to type on, in place of the hints.

It never has the focus of textual, which moves by messages, so that keys typed ahead would go missing. The screen passes
it every key.
"""

from textual import events
from textual.widgets import Input

from poise_tui.actions import Question

_EDITS = {
    "backspace": "delete_left",
    "delete": "delete_right",
    "left": "cursor_left",
    "right": "cursor_right",
    "home": "home",
    "end": "end",
    "ctrl+w": "delete_left_word",
    "ctrl+u": "delete_left_all",
    "ctrl+k": "delete_right_all",
}
LABELS: dict[Question, str] = {
    "find": "find:",
    "note": "note:",
    "command": ":",
    "name": "name:",
    "list": "list names with:",
    "choice": "",
    "number": "",
    "version": "name of the version:",
}


class Prompt(Input, inherit_css=False):
    """One line."""

    COMPONENT_CLASSES = Input.COMPONENT_CLASSES  # inherit_css=False drops them

    DEFAULT_CSS = """
    Prompt { height: 1; border: none; padding: 0; background: $background; color: $foreground; }
    Prompt > .input--cursor { background: $foreground; color: $background; }
    """

    def __init__(self) -> None:
        super().__init__(id="prompt", select_on_focus=False, compact=True)
        self.can_focus = False
        self.cursor_blink = False
        self.question: Question = "command"
        self.opened = ""

    def open(self, question: Question, value: str = "", replace: bool = False) -> None:
        """Opens the prompt with a value to edit.

        Args:
            replace: whether the first typed character replaces the value, as it does a selection.
        """
        self.question = question
        self.value = self.opened = value
        self.cursor_position = len(value)
        if replace:
            self.select_all()
        self.has_focus = True  # shows the cursor

    def edit(self, event: events.Key) -> None:
        """Applies a key to the line."""
        if event.is_printable and event.character:
            self.replace(event.character, *self.selection)
        elif event.key in _EDITS:
            getattr(self, f"action_{_EDITS[event.key]}")()
