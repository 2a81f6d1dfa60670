"""A seal under an XML file: that poise wrote it, and that nobody changed it since."""

import re

import xxhash

from poise import __version__

_SEAL = re.compile(rb"<!-- poise \S{1,40} ([0-9a-f]{16}) -->\n\Z")


def sealed(content: bytes) -> bytes:
    """An XML file with a last line that holds a hash (XXH3) of all before it.

    Example:
        >>> unchanged(sealed(b"<CommonFile/>")), unchanged(sealed(b"<CommonFile/>").replace(b"Common", b"Other"))
        (True, False)
    """
    body = content.rstrip(b"\n") + b"\n"
    return body + f"<!-- poise {__version__} {xxhash.xxh3_64_hexdigest(body)} -->\n".encode()


def unchanged(content: bytes) -> bool:
    """Whether a file is as poise wrote it, whatever its version was."""
    found = _SEAL.search(content)
    return found is not None and xxhash.xxh3_64_hexdigest(content[: found.start()]).encode() == found[1]
