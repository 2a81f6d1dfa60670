"""The last line of a file tells whether anyone changed it."""

import pytest

from poise.exchange.seal import sealed, unchanged

FILE = b"<?xml version='1.0'?>\n<ColorCorrection/>\n"


def test_a_sealed_file_is_still_the_file_and_one_line() -> None:
    content = sealed(FILE)
    assert content.startswith(FILE)
    assert content.count(b"\n") == FILE.count(b"\n") + 1
    assert unchanged(content)
    assert sealed(FILE.rstrip()) == content


@pytest.mark.parametrize(
    "content",
    [
        FILE,
        b"",
        sealed(FILE)[:-1],
        sealed(FILE) + b"\n",
        sealed(FILE).replace(b"Color", b"Colour"),
        b" " + sealed(FILE),
    ],
)
def test_any_change_is_seen(content: bytes) -> None:
    assert not unchanged(content)
