"""The guard of DPX: its header, and whether the file is as long as its picture."""

from typing import BinaryIO

from poise.frames import limits
from poise.frames.codecs.dpx import header


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    found = header.parse(metadata.path, file.read(header.LENGTH))
    metadata.add(found.offset, "its header")
    limits.held(metadata.path, found.offset + found.layout.size, size)
