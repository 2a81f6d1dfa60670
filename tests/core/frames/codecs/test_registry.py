"""The table of formats agrees with the codecs' own limits."""

import pytest

from poise.frames.codecs import FORMATS, WRITTEN, by_content, by_extension, stranger


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_has_a_codec(name: str) -> None:
    codec, written = FORMATS[name].codec, FORMATS[name].written_as is None
    assert all(callable(getattr(codec, part)) for part in ("probe", "read", *["write"] * written))
    assert hasattr(codec, "write") == written == (name in WRITTEN)
    assert FORMATS[name].output.written_as is None


@pytest.mark.parametrize(
    ("head", "name"),
    [
        (b"II*\0\x08\0\0\0", "tiff"),
        (b"MM\0*\0\0\0\x08", "tiff"),
        (b"II+\0\x08\0\0\0", "tiff"),
        (b"\x89PNG\r\n\x1a\n\0\0", "png"),
        (b"\xff\xd8\xff\xe0", "jpeg"),
        (b"\x76\x2f\x31\x01\x02", "exr"),
        (b"SDPX\0\0\x08\0", "dpx"),
        (b"XPDS\0\x08\0\0", "dpx"),
        (b"RIFF\x1a\0\0\0WEBPVP8L", "webp"),
        (b"BM\x36\0\0\0", "bmp"),
    ],
)
def test_first_bytes(head: bytes, name: str) -> None:
    """Signatures of TIFF 6.0, BigTIFF, W3C PNG, ITU-T T.81, OpenEXR, SMPTE ST 268-1, RFC 9649 and Windows GDI."""
    kind = by_content(head)
    assert kind is not None
    assert kind.name == name


def test_names() -> None:
    assert by_extension("a.b/QUAY.JPEG") is FORMATS["jpeg"]
    assert by_extension("tif") is None
    assert stranger(b"RIFF\0\0\0\0AVI LIST") == "RIFF (AVI or WAV)"
    assert by_content(b"RIFF\0\0\0\0AVI LIST") is None
    assert stranger(b"nothing known") is None
