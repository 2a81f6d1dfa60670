"""Reading the disk in a thread, on demand and ahead of time, so that no key ever waits for it."""

import threading
import time
from collections.abc import Callable, Hashable
from contextlib import suppress
from functools import partial
from typing import Any, TypeVar

from poise_tui.session.answers import read_header, read_sidecar
from poise_tui.session.session import Session

T = TypeVar("T")

PATIENCE = 0.02
"""Seconds to wait for answers between two ticks: a quick disk answers within them, so that nothing flickers."""
AT_ONCE = 64
"""The most sidecars and headers that are waited for at once."""


class Disk:
    """Runs questions that read the file system in a thread of its own, the latest first."""

    def __init__(self) -> None:
        self._asked: dict[Hashable, Callable[[], Any]] = {}
        self._open: set[Hashable] = set()
        """Keys of questions without an answer, including the one being run."""
        self._slow: set[Hashable] = set()
        """Keys of questions that were waited for in vain."""
        self._awaited: Hashable = None
        self._answer: Any = None
        self._late: list[Any] = []
        self._patience = PATIENCE
        self._work = threading.Condition()
        self._ended = False
        threading.Thread(target=self._run, daemon=True, name="poise-disk").start()

    def ask(self, key: Hashable, question: Callable[[], T], wait: bool = True) -> T | None:
        """The answer if the disk gives it at once; else None, and a later `tick` returns it.

        Args:
            key: identifies the question, which is not run twice while it is unanswered.
            wait: whether to wait for the answer at all.
        """
        with self._work:
            if key not in self._open or key in self._asked:
                self._asked.pop(key, None)
                self._asked[key] = question  # the latest goes first
                self._open.add(key)
                self._work.notify_all()
            if not wait or key in self._slow or self._patience <= 0:
                return None
            self._awaited, begun = key, time.monotonic()
            self._work.wait_for(lambda: key not in self._open, self._patience)
            self._patience -= time.monotonic() - begun
            if key in self._open:
                self._slow.add(key)
            answer: T | None = self._answer
            self._awaited = self._answer = None
            return answer

    @property
    def waiting(self) -> int:
        """The number of unanswered questions."""
        with self._work:
            return len(self._open)

    def tick(self) -> list[Any]:
        """The answers that came late; call it about twenty times a second."""
        with self._work:
            self._patience = PATIENCE
            answers, self._late = self._late, []
            return answers

    def end(self) -> None:
        """Stops the thread after the present question."""
        with self._work:
            self._ended = True
            self._work.notify_all()

    def _run(self) -> None:
        while True:
            with self._work:
                while not self._asked and not self._ended:
                    self._work.wait()
                if self._ended:
                    return
                key, question = self._asked.popitem()
            answer = None
            with suppress(Exception):  # answers contain faults; an unexpected one must not end the thread
                answer = question()
            with self._work:
                self._open.discard(key)
                self._slow.discard(key)
                if self._awaited == key:
                    self._answer = answer
                    self._work.notify_all()
                elif answer is not None:
                    self._late.append(answer)


class ReadAhead:
    """Asks the disk for the sidecars and headers of a session's shots."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._disk = Disk()
        self._next = 0
        session.ask = self._disk.ask

    def take(self) -> list[int]:
        """Passes the late answers of the disk to the session; returns the indexes of their shots."""
        answers = self._disk.tick()
        for answer in answers:
            self._session.answered(answer)
        return [answer.index for answer in answers]

    def sidecars(self) -> None:
        """Asks for some of the unread sidecars, so that states are known before they are needed."""
        slots, left = self._session.slots, AT_ONCE - self._disk.waiting
        while self._next < len(slots) and left > 0:
            slot, index = slots[self._next], self._next
            if not slot.loaded:
                self._disk.ask((index, slot.shot.sidecar_path), partial(read_sidecar, index, slot.shot), wait=False)
                left -= 1
            self._next += 1

    def headers(self) -> None:
        """Asks for headers of marked shots, so that nudges know which of them are greyscale."""
        slots, left = self._session.slots, AT_ONCE - self._disk.waiting
        for index in self._session.marked if left > 0 else ():
            slot = slots[index]
            if not (slot.picture or slot.probed) and left > 0:
                self._disk.ask((index, slot.file), partial(read_header, index, slot.file), wait=False)
                left -= 1

    def end(self) -> None:
        """Stops the thread."""
        self._disk.end()
