"""Names for exchange: an id for each shot that every reader accepts, and the shot for an id or a path."""

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Sequence
from pathlib import PurePosixPath
from urllib.parse import quote, unquote, urlsplit

from poise.frames.shots import Shot

# characters of an XML name without a colon (XML 1.0, fifth edition, 2.3 [4] and [4a])
_START = (
    "A-Z_a-z\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u02ff\u0370-\u037d\u037f-\u1fff\u200c\u200d\u2070-\u218f\u2c00-\u2fef"
    "\u3001-\ud7ff\uf900-\ufdcf\ufdf0-\ufffd\U00010000-\U000effff"
)
_OTHER = re.compile(f"[^{_START}.0-9\u00b7\u0300-\u036f\u203f\u2040-]")
_FIRST = re.compile(f"[{_START}]")
DEEPEST = 64
"""Parts of a path that are used, from its end."""


def plain_name(shot: Shot) -> str:
    """The name of a shot without extension and frame number.

    Example:
        >>> from pathlib import Path
        >>> plain_name(Shot("quay_03.####.dpx", Path("day"), (Path("day/quay_03.0101.dpx"),), True))
        'quay_03'
    """
    stem = PurePosixPath(shot.name).stem
    return (re.sub(r"[._]?#{4,}", "", stem, count=1).strip("._") or stem) if shot.sequence else stem


def place(shot: Shot) -> PurePosixPath:
    """The name of a shot with its folders below the one that the user named."""
    return PurePosixPath(shot.relative(shot.first.parent).as_posix()) / shot.name


def files(shots: Sequence[Shot], ending: str) -> list[PurePosixPath]:
    """A file for each shot: its place without extension and frame number, or with them if others have the same one.

    Example:
        >>> from pathlib import Path
        >>> [str(one) for one in files([Shot("quay 2.tif", Path(), (Path("quay 2.tif"),), False)], ".cc")]
        ['quay 2.cc']
    """
    short = [place(shot).with_name(plain_name(shot)) for shot in shots]
    count = Counter(short)
    stems = (stem if count[stem] == 1 else place(shot) for stem, shot in zip(short, shots, strict=True))
    return [stem.with_name(f"{stem.name}{ending}") for stem in stems]


def media(shot: Shot) -> str:
    """The place of a shot as a relative URI (RFC 3986), for references to media."""
    return quote(str(place(shot)), safe="/", errors="surrogateescape")


def ids(shots: Sequence[Shot]) -> list[str]:
    """An id for each shot: its plain name, or with folders, extension or a number if others have the same one.

    The ids are unique, and XML names without a colon: valid as an id, a token or a URI.

    Example:
        >>> from pathlib import Path
        >>> ids([Shot("quay 2.tif", Path(), (Path("quay 2.tif"),), False)])
        ['quay_2']
    """
    kinds = [
        [_id(plain_name(shot)) for shot in shots],
        [_id(place(shot).with_name(plain_name(shot))) for shot in shots],
        [_id(place(shot)) for shot in shots],
    ]
    counts = [Counter(kind) for kind in kinds]
    found: list[str] = []
    taken: set[str] = set()
    for number in range(len(shots)):
        short, *longer = (kind[number] for kind in kinds)
        alone = (name for name, count in zip(longer, counts[1:], strict=True) if count[name] == 1)
        # the plain name of several shots is for none of them
        best = short if counts[0][short] == 1 else next((name for name in alone if name not in counts[0]), longer[-1])
        name, more = best, 2
        while name in taken:
            name, more = f"{best}-{more}", more + 1
        taken.add(name)
        found.append(name)
    return found


class Lookup:
    """Finds shots by the names that other programs use.

    Tried in turn: its id from `ids`, its name with folders, that without extension and frame number, its name or that
    of a frame, and that without extension and frame number; then the same without the first folder, and so on.

    Example:
        Lookup(shots).find("day/quay_02")  # [3]
    """

    def __init__(self, shots: Sequence[Shot]) -> None:
        self._kinds: list[dict[str, set[int]]] = [defaultdict(set) for _ in range(5)]
        for number, (shot, name) in enumerate(zip(shots, ids(shots), strict=True)):
            where, short = place(shot), plain_name(shot)
            frames = [file.name for file in shot.files]
            below = [where.with_name(short)] if len(where.parts) > 1 else []
            called: list[list[object]] = [[name], [where], [*below], [shot.name, *frames], [short]]
            for kind, texts in zip(self._kinds, called, strict=True):
                for text in texts:
                    kind[_normalized(text)].add(number)
                    kind[_id(text)].add(number)

    def find(self, text: str) -> list[int]:
        """The indices of the shots with an id: none, one, or several if it is ambiguous."""
        parts = PurePosixPath(_normalized(text.replace("\\", "/")).lstrip("/")).parts[-DEEPEST:]
        for first in range(len(parts)):
            rest = "/".join(parts[first:])
            for kind in self._kinds:
                if rest in kind:
                    return sorted(kind[rest])
        return []

    def media(self, reference: str) -> list[int]:
        """The indices of the shots for a reference to media: a path or a URI."""
        try:
            path = urlsplit(reference).path
        except ValueError:
            path = reference
        return self.find(unquote(path, errors="surrogateescape")) or self.find(reference)


def _normalized(text: object) -> str:
    return unicodedata.normalize("NFC", str(text))


def _id(name: object) -> str:
    clean = _OTHER.sub("_", _normalized(name).replace("/", ".")) or "_"
    return clean if _FIRST.match(clean) else f"_{clean}"
