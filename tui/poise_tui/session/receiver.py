"""Applying what changed in the folders to a session, and reporting it in one line."""

from collections.abc import Sequence

from poise.frames import Shot
from poise_tui.session.folder_changes import FolderChanges
from poise_tui.session.store import Store


class Receiver:
    """Applies folder changes to the shots of a session.

    A shot that would share its sidecar with another is passed over; from then on, indexes in the changes and in the
    session differ.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._places: list[int | None] = list(range(len(store.slots)))

    def take(self, changes: FolderChanges) -> str:
        """Applies changes, with new shots after the others; returns a message."""
        places = self._store.add(changes.came)
        self._places += places
        came = [shot.name for shot, place in zip(changes.came, places, strict=True) if place is not None]
        refused = [shot.name for shot, place in zip(changes.came, places, strict=True) if place is None]
        said = [_several(came, "came in"), _several(refused, "passed over, since another shot uses its sidecar")]
        for index, shot in changes.changed.items():
            place = self._places[index]
            if place is not None:
                said.append(_describe(self._store.become(place, shot), shot))
        said.append(_several(self._marked(changes.gone, True), "gone; decisions are kept"))
        said.append(_several(self._marked(changes.back, False), "back"))
        return "; ".join(one for one in said if one)

    def _marked(self, indexes: Sequence[int], gone: bool) -> list[str]:
        places = [place for index in indexes if (place := self._places[index]) is not None]
        for place in places:
            self._store.gone(place, gone)
        return [self._store.slots[place].shot.name for place in places]


def _describe(old: Shot, new: Shot) -> str:
    if new.name != old.name:
        return f"{old.name} is now a sequence: {new.name}"
    count = len(new.files) - len(old.files)
    if not count:
        return ""
    return f"{new.name}: {abs(count)} frame{'s' * (abs(count) > 1)} {'added' if count > 0 else 'gone'}"


def _several(names: Sequence[str], what: str) -> str:
    if not names:
        return ""
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    return f"{f'{len(names)} shots' if more else 'shot'} {what}: {names[0]}{more}"
