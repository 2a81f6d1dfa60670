"""The app: it opens the desk screen in a terminal, and saves all decisions however it ends."""

import asyncio
import contextlib
import os
import signal
import threading
from collections.abc import Sequence
from pathlib import Path

from rich.console import RenderableType
from textual.app import App
from textual.screen import Screen
from textual.theme import Theme as Colours

from poise.delivery.limits import Limits
from poise_tui.draw.look import Look
from poise_tui.draw.palette import GROUND, TEXT, THEMES, Theme
from poise_tui.keys.keymap import Keymap
from poise_tui.screens.desk import DeskScreen
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import CellView
from poise_tui.terminal.line import writable

SIGNALS = (signal.SIGHUP, signal.SIGTERM)


class Poise(App[int], inherit_bindings=False):
    """The terminal app."""

    ENABLE_COMMAND_PALETTE = False
    TITLE = "poise"
    CSS = "Screen { background: $background; }"

    def __init__(
        self,
        session: Session,
        keys: Keymap,
        look: Look,
        passed: Sequence[str] = (),
        paths: Sequence[Path] = (),
        stills: bool = False,
    ) -> None:
        """Opens a session; delivery `limits` can be set before it runs.

        Args:
            passed: the files that were passed over when the shots were listed, one line each.
            paths, stills: the arguments of the scan; its folders are watched for changes.
        """
        super().__init__()
        self._paths, self._stills = paths, stills
        self._passed = passed
        self.session = session
        self.fault: Exception | None = None
        self.limits: Limits | None = None
        self._keys, self._look = keys, look
        for theme in THEMES:
            self.register_theme(_colours(theme))
        self.theme = f"poise-{look.theme}"

    def get_default_screen(self) -> Screen[None]:
        screen = DeskScreen(self.session, self._keys, self._look, self.free, self._passed)
        screen.watched = (self._paths, self._stills)
        if self.limits is not None:
            screen.hold_to(self.limits)
        return screen

    def on_mount(self) -> None:
        loop = asyncio.get_running_loop()
        for number in SIGNALS:
            # handlers work only on the main thread, and tests can run the app on another
            with contextlib.suppress(ValueError, RuntimeError):
                loop.add_signal_handler(number, self._end, number)

    def on_resize(self) -> None:
        """Redraws everything: a terminal resized and resized back has blank cells, though textual sees no change."""
        screen = self.screen_stack[-1] if self.screen_stack else None
        if screen is not None:
            screen.refresh()
        if isinstance(screen, DeskScreen):
            screen.changed()

    def free(self) -> bool:
        """Whether the line can take a frame, because the previous one has left."""
        writer = getattr(self._driver, "_writer_thread", None)
        return writer is None or (not writer._queue.qsize() and writable(writer.fileno()))

    def _end(self, number: int) -> None:
        """Saves and exits on a signal, even if the terminal is gone."""
        try:
            screen = self.screen_stack[0]
            if isinstance(screen, DeskScreen):
                screen.close()
            if number != signal.SIGHUP:
                # in a thread, since a terminal that accepts no more output would block the exit
                returning = threading.Thread(target=self._return_terminal, daemon=True)
                returning.start()
                returning.join(1)
        finally:
            os._exit(128 + number)

    def _return_terminal(self) -> None:
        """Restores the terminal."""
        if self._driver is not None:
            self._driver.stop_application_mode()
            self._driver.close()

    def _display(self, screen: Screen[object], renderable: RenderableType | None) -> None:
        """Displays an update; each pane is told first, since what the terminal shows in its place may be unknown."""
        whole = type(renderable).__name__ == "LayoutUpdate"
        for pane in screen.query(CellView):
            pane.displayed(whole)
        super()._display(screen, renderable)

    def _handle_exception(self, error: Exception) -> None:
        """Ends the app on an exception of its own, which the caller reports after everything is saved."""
        self.fault = self.fault or error
        super()._handle_exception(error)

    def _fatal_error(self) -> None:
        """No traceback on the screen; see `_handle_exception`."""
        self._close_messages_no_wait()


def _colours(theme: Theme) -> Colours:
    ground = GROUND[theme]
    text = TEXT[theme]
    return Colours(
        name=f"poise-{theme}", primary=text, foreground=text, background=ground, surface=ground, dark=theme == "dark"
    )
