"""A seal at the end of an XML file: poise wrote it, and nobody has changed it since."""

import re

import xxhash

from poise import __version__

_SEAL = re.compile(rb"<!-- poise \S{1,40} ([0-9a-f]{16}) -->\n\Z")


def sealed(content: bytes) -> bytes:
    """Append a line with a hash (XXH3) of everything before it to an XML file.

    Example:
        >>> unchanged(sealed(b"<CommonFile/>")), unchanged(sealed(b"<CommonFile/>").replace(b"Common", b"Other"))
        (True, False)
    """
    body = content.rstrip(b"\n") + b"\n"
    return body + f"<!-- poise {__version__} {xxhash.xxh3_64_hexdigest(body)} -->\n".encode()


def unchanged(content: bytes) -> bool:
    """Whether a file is as some version of poise wrote it."""
    found = _SEAL.search(content)
    return found is not None and xxhash.xxh3_64_hexdigest(content[: found.start()]).encode() == found[1]
