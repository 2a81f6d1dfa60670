"""Taking in what is new in the folders, and saying it in a line."""

from collections.abc import Sequence

from poise_tui.news import News
from poise_tui.store import Store


def receive(store: Store, news: News) -> str:
    """Takes in what is new; shots that came stand behind the others. What there is to say."""
    before = [store.slots[index].shot for index in news.changed]
    store.add(news.came)
    for index, shot in news.changed.items():
        store.become(index, shot)
    for index in (*news.gone, *news.back):
        store.gone(index, index in news.gone)
    said = [_several([shot.name for shot in news.came], "came in", "shot")]
    for old, new in zip(before, news.changed.values(), strict=True):
        count = len(new.files) - len(old.files)
        if new.name != old.name:
            said.append(f"{old.name} is a sequence now: {new.name}")
        elif count:
            said.append(f"{new.name}: {abs(count)} frame{'s' * (abs(count) > 1)} {'more' if count > 0 else 'gone'}")
    names = [store.slots[index].shot.name for index in news.gone]
    said.append(_several(names, "gone; what was decided stays", "shot"))
    said.append(_several([store.slots[index].shot.name for index in news.back], "there again", "shot"))
    return "; ".join(one for one in said if one)


def _several(names: Sequence[str], what: str, noun: str) -> str:
    if len(names) < 2:
        return f"{noun} {what}: {names[0]}" if names else ""
    return f"{len(names)} {noun}s {what}: {names[0]} and {len(names) - 1} more"
