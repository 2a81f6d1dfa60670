"""A thread that reports what came into the folders, and what went, while the app is open.

Events of the file system wake it; where there are none, as over NFS, the folders' own times are checked every few
seconds. Either way the folders are scanned again, so that what counts as a shot is the same as at the start. A new
file counts once its size and time have stayed the same for a moment.
"""

import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from poise.frames import Shot, scan
from poise.frames.codecs import EXTENSIONS
from poise_tui.session.folder_changes import FolderChanges, folder_changes

DELAY = 1.0
"""Seconds from the start to the first check: the first picture and the first keys come first."""
WAKE = 0.5
"""Seconds between checks of files that are being written."""
POLL = 3.0
"""Seconds between checks of the folders' times."""
STILL = 1.0
"""Seconds for which a new file's size and time must stay the same."""
FRESH = 2.0
"""Seconds within which a folder's time can hide a later change, since file systems count in steps."""
SHARE = 4
"""A scan is followed by a pause of this many times its duration."""

Seen = tuple[int, int, float]
"""Size and time of a file, and since when they have been the same."""


class FolderWatcher:
    """Watches the folders of a session.

    Args:
        paths: as given on the command line; only the folders are watched.
        stills: whether every file is a shot of its own.
        known: the shots of the session, by index.
        report: called in the thread with the changes, or with the exception of a scan that failed.
    """

    def __init__(
        self,
        paths: Sequence[Path],
        stills: bool,
        known: Sequence[Shot],
        report: Callable[[FolderChanges | Exception], None],
    ) -> None:
        self._paths, self._stills, self._report = [Path(path) for path in paths], stills, report
        self._roots = [path for path in self._paths if path.is_dir()]
        self._known = list(known)
        self._gone: set[int] = set()
        self._folders: dict[Path, int] = {}
        self._writing: dict[Path, Seen] = {}
        self._scanned = 0.0
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True, name="poise-arrivals")

    def start(self) -> None:
        """Starts the thread, if there is a folder to watch."""
        if self._roots:
            self._thread.start()

    def end(self) -> None:
        """Stops the thread soon."""
        self._ended.set()

    def _run(self) -> None:
        if self._ended.wait(DELAY):
            return
        polled, pause, due, reported = float("-inf"), 0.0, True, ""
        for woken in self._wakes():
            now = time.monotonic()
            due = due or woken or any(now - since < STILL + 2 * WAKE for _, _, since in self._writing.values())
            if not due and now - polled >= POLL:
                polled, due = now, bool(self._writing) or self._moved()
            if due and now - self._scanned >= pause:
                found = self._look()
                due = isinstance(found, Exception)
                self._scanned = time.monotonic()
                pause = max(SHARE * (self._scanned - now), POLL if due else 0.0)
                if found and not self._ended.is_set() and not (due and repr(found) == reported):
                    with suppress(Exception):  # the app may have closed
                        self._report(found)
                reported = repr(found)

    def _look(self) -> FolderChanges | Exception:
        """The same as `look`, but returns an unexpected exception; it is reported once, and the scan is tried again."""
        try:
            return self.look()
        except Exception as fault:
            return fault

    def look(self) -> FolderChanges:
        """Scans the folders and returns what changed."""
        begun = time.time()
        listing = scan(self._paths, self._stills)
        self._folders = {folder: _time(folder, begun) for folder in listing.folders}
        owned = {file for shot in self._known for file in shot.files}
        whole = self._whole([file for shot in listing.shots for file in shot.files if file not in owned])
        unread = [problem.path for problem in listing.problems if problem.path.is_dir()]
        hidden = [shot for shot in self._known if any(shot.first.is_relative_to(folder) for folder in unread)]
        found = folder_changes(self._known, self._gone, (*hidden, *listing.shots), whole)
        for index, shot in found.changed.items():
            self._known[index] = shot
        self._known += found.came
        self._gone = (self._gone | set(found.gone)) - set(found.back)
        for shot in (*found.came, *found.changed.values()):
            for file in shot.files:
                self._writing.pop(file, None)
        return found

    def _whole(self, files: Sequence[Path]) -> set[Path]:
        """The new files that are completely written."""
        now, before, whole = time.monotonic(), self._writing, set()
        self._writing = {}
        for file in files:
            try:
                stat = file.stat()
            except OSError:
                continue
            size, changed, since = before.get(file, (-1, 0, now))
            if (size, changed) != (stat.st_size, stat.st_mtime_ns):
                since = now
            self._writing[file] = (stat.st_size, stat.st_mtime_ns, since)
            if stat.st_size and now - since >= STILL:
                whole.add(file)
        return whole

    def _moved(self) -> bool:
        """Whether a folder's time differs from that of the last scan."""
        return not self._folders or any(_time(folder) != seen for folder, seen in self._folders.items())

    def _wakes(self) -> Iterator[bool]:
        """Yields again and again: True at once for an event of a picture or a folder, False at intervals."""
        try:
            from watchfiles import watch

            roots = [root for root in self._roots if root.is_dir()]
            step = max(int(WAKE * 1000), 1)
            for changes in watch(
                *roots, watch_filter=_matters, debounce=step, step=min(50, step), stop_event=self._ended,
                rust_timeout=step, yield_on_timeout=True, raise_interrupt=False, force_polling=False,
                ignore_permission_denied=True,
            ):  # fmt: skip
                yield bool(changes)
        except Exception:
            pass
        while not self._ended.wait(WAKE):  # no events from this file system, or no more of them
            yield False


def _matters(change: object, path: str) -> bool:
    name = os.path.basename(path)
    ending = os.path.splitext(name)[1].lower()
    return not name.startswith(".") and (ending in EXTENSIONS or not ending)


def _time(folder: Path, now: float | None = None) -> int:
    """A folder's time in ns; -1 if it can't be read, -2 if it is so recent that it can hide a later change."""
    try:
        found = folder.stat().st_mtime_ns
    except OSError:
        return -1
    return -2 if now is not None and abs(now - found / 1e9) < FRESH else found
