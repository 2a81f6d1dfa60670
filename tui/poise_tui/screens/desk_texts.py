"""Screens of text that the desk screen opens: help, the manual, messages, faults, the patches of a chart."""

from rich.cells import cell_len

from poise import manual
from poise.errors import PoiseError
from poise_tui.draw.cells import Ink, Line
from poise_tui.keys.help import lines, section
from poise_tui.screens import patches
from poise_tui.screens.desk_base import DeskBase
from poise_tui.screens.fault_text import in_full
from poise_tui.screens.text import TextScreen, wrapped
from poise_tui.session.auto_outcome import listed


class DeskTexts(DeskBase, inherit_bindings=False):
    """What `commandline.Console` asks for that is read on a screen of its own."""

    def help(self) -> None:
        text = lines(self._keys)
        self._read("help", text, section(text, self.session.hand.mode))

    def manual(self, topic: str) -> None:
        text = manual.page(topic) if topic else "\n".join(f"{name:<10} {of}" for name, of in manual.TOPICS.items())
        rows = wrapped([[(row, Ink.TEXT)] for row in text.splitlines()], self.size.width)
        self._read(f"manual: {topic or 'topics, :manual TOPIC'}", rows)

    def messages(self) -> None:
        said = [[(text, Ink.WARNING if warning else Ink.TEXT)] for text, warning in reversed(self._said)]
        self._read("messages, latest first", wrapped(said, self.size.width))

    def faults(self) -> None:
        self._read("delivery faults", wrapped(in_full(self.session, self._coordinator), self.size.width))

    def unsure(self) -> None:
        """Shows the shots that the last auto was unsure of, held back on, or left."""
        rows: list[Line] = []
        for name, reason in listed(self._coordinator.solver.outcomes):
            rows += [[(name, Ink.TITLE)], [(f"      {reason}", Ink.TEXT)]]
        text = rows or [[("auto was sure of every shot, or has not run yet", Ink.TEXT)]]
        self._read("auto: certainty of the light, and why it held back", wrapped(text, self.size.width))

    def patches(self) -> None:
        found = self._coordinator.solver.patches
        if not found:
            raise PoiseError("no chart has been read yet")
        self._read("the patches of the chart", patches.lines(found))

    def whole(self, title: str, text: str) -> None:
        """Shows a text that is too long for one line."""
        if cell_len(text) > self.size.width:
            self._read(f":{title}", wrapped([[(text, Ink.WARNING)]], self.size.width))

    def _read(self, title: str, text: list[Line], at: int = 0) -> None:
        self.app.push_screen(TextScreen(title, text, self._look, at))
