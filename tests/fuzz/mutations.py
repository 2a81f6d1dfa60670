"""Mutations of bytes: bits, numbers at their extremes, pieces cut, doubled, moved and taken from another file."""

import zlib
from collections.abc import Sequence
from contextlib import suppress
from random import Random

_EXTREMES = (0, 1, 2, 8, 255, 256, 4096, 2**15, 2**16 - 1, 2**24, 2**28, 2**31 - 1, 2**31, 2**32 - 1, 2**63, 2**64 - 1)
_HEAD = 600
"""Most of what a header says stands in so many bytes at either end."""


def mutated(files: Sequence[bytes], number: int) -> bytes:
    """What comes of one of the files by the mutations of a number."""
    chance = Random(number)
    return _steps(chance.choice(files), chance.choice(files), chance)


def reassembled(files: Sequence[bytes], number: int) -> bytes:
    """What comes of a PNG of which chunks are changed, lost, doubled and moved, each whole and with its checksum."""
    chance = Random(number)
    ours, theirs = (_chunks(chance.choice(files)) for _ in range(2))
    for _ in range(chance.choice((1, 1, 2, 3))):
        at, step = chance.randrange(len(ours)), chance.randrange(6)
        kind, body = chance.choice(theirs if step == 1 else ours)
        if step == 0 and len(ours) > 1:
            del ours[at]
        elif step <= 2:
            ours.insert(at, (kind, body))
        else:
            kind, body = ours[at]
            with suppress(zlib.error):
                if step == 3:  # behind the compression
                    body = zlib.compress(_steps(zlib.decompress(body), body, chance))
            ours[at] = (_steps(kind, kind, chance)[:4].ljust(4) if step == 4 else kind, body)
            if step == 5:
                ours[at] = (kind, _steps(body, body, chance))
    put = [len(body).to_bytes(4) + kind + body + zlib.crc32(kind + body).to_bytes(4) for kind, body in ours]
    return files[0][:8] + b"".join(put)


def _chunks(content: bytes) -> list[tuple[bytes, bytes]]:
    at, found = 8, []
    while at < len(content):
        end = at + 8 + int.from_bytes(content[at : at + 4])
        found.append((content[at + 4 : at + 8], content[at + 8 : end]))
        at = end + 4
    return found


def _steps(content: bytes, other: bytes, chance: Random) -> bytes:
    data = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 3, 6))):
        if data:
            chance.choices(_STEPS, (12, 12, 6, 2, 1))[0](data, _place(data, chance), other, chance)
    return bytes(data)


def _place(data: bytes | bytearray, chance: Random) -> int:
    if not data:
        return 0
    near = min(len(data), _HEAD)
    return chance.choice((chance.randrange(len(data)), chance.randrange(near), len(data) - 1 - chance.randrange(near)))


def _number(data: bytearray, at: int, other: bytes, chance: Random) -> None:
    size = chance.choice((1, 2, 4, 8))
    value = chance.choice((*_EXTREMES, chance.randrange(600))) % 256**size
    data[at : at + size] = value.to_bytes(size, chance.choice(("big", "little")))


def _flip(data: bytearray, at: int, other: bytes, chance: Random) -> None:
    data[at] ^= 1 << chance.randrange(8)


def _splice(data: bytearray, at: int, other: bytes, chance: Random) -> None:
    piece = other[_place(other, chance) :][: chance.randint(1, 300)]
    data[at : at + chance.choice((0, len(piece)))] = piece


def _lose(data: bytearray, at: int, other: bytes, chance: Random) -> None:
    del data[at : at + chance.randint(1, 64)]


def _cut(data: bytearray, at: int, other: bytes, chance: Random) -> None:
    del data[at:]


_STEPS = (_number, _flip, _splice, _lose, _cut)
