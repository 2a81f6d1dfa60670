"""Names in few cells: what shots share is left out first, so that what tells them apart stays."""

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from rich.cells import cell_len, set_cell_size

_PARTS = re.compile(r"\d+|[^\W\d_]+|#+|.", re.DOTALL)


class Names:
    """The names of all shots, which know what they share: parts such as letters or digits at one place of the name.

    Example:
        >>> names = Names(["001_allA007C012.png", "002_allA007C013.png", "003_allA007C014.png"])
        >>> names.fitted("002_allA007C013.png", 17), names.fitted("002_allA007C013.png", 12)
        ('002~007C013.png', '002~C013.png')
    """

    def __init__(self, names: Iterable[str]) -> None:
        self._names: Iterable[str] = names
        self._count = 0
        self._shared: Counter[tuple[int, str]] = Counter()

    def fitted(self, name: str, width: int) -> str:
        """A name in at most `width` cells; a ~ stands for what is left out.

        What all names have at one place goes first, the longest part before others; then what at least half of them
        share, if the name keeps a part that no other has there, and at last all but the first of such parts.
        """
        if cell_len(name) <= width:
            return name
        base, pin, frame = name.rpartition(" @")
        if frame.isdecimal() and width > len(pin + frame) + 3:  # the judged frame, as in `ShotState.title`
            return self.fitted(base, width - len(pin + frame)) + pin + frame
        self._compare()
        parts = _PARTS.findall(name)
        shared = [max(self._shared[i, part], self._shared[i - len(parts), part]) for i, part in enumerate(parts)]
        places = [i for i, part in enumerate(parts) if part.isalnum() or len(part) > 1]
        own = [i for i in places if shared[i] <= 1]
        gone: set[int] = set()
        common = [i for i in places if 2 * shared[i] >= max(self._count, 4)]
        order = sorted(common, key=lambda i: (len(parts[i]) == 1, -shared[i], -len(parts[i])))
        for place in (*order, *own[:0:-1]):
            if shared[place] < self._count and not own:
                continue
            gone.add(place)
            name = _joined(parts, gone)
            if cell_len(name) <= width:
                return name
        return shortened(name, width)

    def _compare(self) -> None:
        """Counts what the names share, the first time that one does not fit."""
        names, self._names = self._names, ()
        for name in names:
            self._count += 1
            parts = _PARTS.findall(name)
            self._shared.update(enumerate(parts))
            self._shared.update(enumerate(parts, -len(parts)))


def _joined(parts: Sequence[str], gone: set[int]) -> str:
    """The parts with one ~ for each run of parts that are gone, and the separators beside it."""

    def drawn(place: int) -> str:
        beside = not parts[place].isalnum() and {place - 1, place + 1} & gone
        return "\0" if place in gone or beside else parts[place]

    return re.sub("\0+", "~", "".join(map(drawn, range(len(parts)))))


def shortened(name: str, width: int) -> str:
    """A name in at most `width` cells; the middle is left out, since beginning and end distinguish shots.

    Example:
        >>> shortened("ferry_night.####.png", 12)
        'ferry_~#.png'
    """
    if cell_len(name) <= width or width < 3:
        return set_cell_size(name, max(width, 0)).rstrip() if cell_len(name) > width else name
    tail = name[-(width // 2 - 1) :]
    while cell_len(tail) > width // 2 - 1 and len(tail) > 1:
        tail = tail[1:]
    return set_cell_size(name, width - cell_len(tail) - 1).rstrip() + "~" + tail
