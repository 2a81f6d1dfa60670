"""Taking in what is new in the folders, and saying it in a line."""

from collections.abc import Sequence

from poise.frames import Shot
from poise_tui.session.folder_changes import FolderChanges
from poise_tui.session.store import Store


class Receiver:
    """Takes in news about the shots of a session.

    A shot whose sidecar would be another's is passed over, so that places in the news and in the session differ from
    then on.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._places: list[int | None] = list(range(len(store.slots)))

    def take(self, news: FolderChanges) -> str:
        """Takes in what is new; shots that came stand behind the others. What there is to say."""
        places = self._store.add(news.came)
        self._places += places
        came = [shot.name for shot, place in zip(news.came, places, strict=True) if place is not None]
        refused = [shot.name for shot, place in zip(news.came, places, strict=True) if place is None]
        said = [_several(came, "came in"), _several(refused, "passed over, its sidecar would be another shot's")]
        for index, shot in news.changed.items():
            place = self._places[index]
            if place is not None:
                said.append(_told(self._store.become(place, shot), shot))
        said.append(_several(self._marked(news.gone, True), "gone; what was decided stays"))
        said.append(_several(self._marked(news.back, False), "there again"))
        return "; ".join(one for one in said if one)

    def _marked(self, indexes: Sequence[int], gone: bool) -> list[str]:
        places = [place for index in indexes if (place := self._places[index]) is not None]
        for place in places:
            self._store.gone(place, gone)
        return [self._store.slots[place].shot.name for place in places]


def _told(old: Shot, new: Shot) -> str:
    if new.name != old.name:
        return f"{old.name} is a sequence now: {new.name}"
    count = len(new.files) - len(old.files)
    if not count:
        return ""
    return f"{new.name}: {abs(count)} frame{'s' * (abs(count) > 1)} {'more' if count > 0 else 'gone'}"


def _several(names: Sequence[str], what: str) -> str:
    if not names:
        return ""
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    return f"{f'{len(names)} shots' if more else 'shot'} {what}: {names[0]}{more}"
