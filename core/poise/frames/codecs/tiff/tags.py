"""Which tags of a written TIFF are its source's: all, but for those that say how and where the pixels are stored."""

import os
from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

from poise.frames.codecs.tiff import directories
from poise.frames.codecs.tiff.directories import Directory, Entry, Form
from poise.frames.frame import Frame

SOFTWARE, ICC = 305, 34675
_ROWS, _EXTRA, _FORMAT = 278, 338, 339
_LAYOUT: dict[int, tuple[int, ...]] = {
    256: (),
    257: (),
    258: (1,),
    259: (1,),
    262: (),
    277: (1,),
    278: (2**32 - 1,),
    284: (1,),
    317: (1,),
    322: (),
    323: (),
    338: (),
    339: (1,),
}
"""How pixels are stored, with what the standard takes where a tag is missing."""
_PLACES = frozenset({273, 279, 324, 325})
_STARTS = frozenset({273, 324})
_FREE = frozenset({288, 289})
_SMALLER = 330
_LAYERS = 37724
_OF_DEPTH = {280: "MinSampleValue", 281: "MaxSampleValue", 291: "GrayResponseCurve", 301: "TransferFunction"}
_OF_DEPTH |= {340: "SMinSampleValue", 341: "SMaxSampleValue", 532: "ReferenceBlackWhite"}
"""Tags that count in codes of the source's depth."""
_OF_ENCODING = {291: "GrayResponseCurve", 301: "TransferFunction", 318: "WhitePoint", 319: "PrimaryChromaticities"}
"""Tags that tell what light the source's codes stand for."""
UNREAD = _PLACES | _FREE | {_SMALLER, _LAYERS}
"""Tags that are never carried: where the source's own pixels stand, and pictures of the source as it was."""
_RESOURCES, _THUMBNAILS = 34377, (b"8BIM\x04\x09", b"8BIM\x04\x0c")
_PICTURES = {_SMALLER: "smaller pictures (SubIFDs)", _LAYERS: "layers"}
_GROUPS = {34665: "EXIF", 34853: "GPS", 700: "XMP", 33723: "IPTC", 274: "orientation", 282: "resolution"}
_RESOLUTION = {283, 296}
_NEAR, _FAR = 2**20, 2**24
"""What a file may grow by, so that a MakerNote keeps its place: ahead of the pixels, and behind them."""


def uncorrected(codes: Collection[int], previews: int) -> tuple[str, ...]:
    """Notes of other pictures in a file: they would show what is no longer so."""
    kinds = [f"{previews} smaller picture{'s' * (previews > 1)}"] if previews else []
    kinds += [what for code, what in _PICTURES.items() if code in codes]
    return (f"left out: {' and '.join(kinds)} of the uncorrected picture",) if kinds else ()


def outdated(directory: Directory) -> tuple[str, ...]:
    """A note of a thumbnail among the image resources, which is kept although it shows the picture as it was."""
    found = any(entry.code == _RESOURCES and any(mark in entry.value for mark in _THUMBNAILS) for entry in directory)
    return ("the thumbnail in its image resources shows the uncorrected picture",) * found


def holds(directory: Directory, names: Mapping[int, str]) -> tuple[str, ...]:
    """What a directory says about the picture, in words; the name of a tag where it is no kind of its own."""
    known = {entry.code for entry in directory} - _LAYOUT.keys() - _RESOLUTION - {254, 255, 297, ICC}
    if len(known - _GROUPS.keys()) > 8:
        rest = [f"{len(known - _GROUPS.keys())} other tags"]
    else:
        rest = [names.get(code, f"tag {code}") for code in sorted(known - _GROUPS.keys())]
    return (*(word for code, word in _GROUPS.items() if code in known), *rest)


def room(directory: Directory, pixels: int) -> int:
    """The place before which no pixels of an output shall stand, so that a MakerNote keeps its own.

    Args:
        pixels: where those of the source begin.
    """
    end = max((note.place + len(note.value) for note in directories.maker_notes(directory)), default=0)
    return end if end <= max(pixels, _NEAR) else 0


def give(path: Path, source: Directory, frame: Frame, same_depth: bool, stamp: str | None) -> tuple[str, ...]:
    """Gives a written TIFF the tags of its source.

    A tag of layout stands as in the source, in its type too, where it says the same as what was written.

    Args:
        path: as tifffile wrote it, in the source's byte order, with nothing but the picture in it.
        frame: what was written; its profile is kept.
        same_depth: whether codes are counted as in the source.
        stamp: is added to what Software holds.

    Returns:
        Notes of what another depth or encoding makes untrue.
    """
    with path.open("r+b") as file:
        form = form_of(file.read(4))
        written = directories.Reader(path, file, form).directory(directories.first(file, form))
        codes = {entry.code for entry in source}
        counted = {} if same_depth else {code: name for code, name in _OF_DEPTH.items() if code in codes}
        coded = {code: name for code, name in _OF_ENCODING.items() if code in codes and frame.recoded}
        entries = [entry for entry in written if entry.code in _PLACES]
        entries += _layout(source, written, form, same_depth)
        entries += [e for e in source if e.code not in _LAYOUT.keys() | counted.keys() | coded.keys() | {ICC, SOFTWARE}]
        entries += _profile(source, frame.icc)
        entries += _software(source, stamp)
        entries, moved = _maker_note(file, entries, written, form)
        directories.point_to(file, directories.append(file, entries, form), form)
    notes = ["its MakerNote had to move: what its maker counts from the start of the file leads astray"] * moved
    notes += [f"not kept at another depth: {', '.join(counted.values())}"] if counted else []
    notes += [f"not kept in another encoding: {', '.join(coded.values())}"] if coded else []
    return tuple(notes)


def _maker_note(file: BinaryIO, entries: list[Entry], written: Directory, form: Form) -> tuple[list[Entry], bool]:
    """The entries, with a MakerNote written at its old place where nothing else stands, and whether it had to move.

    Ahead of the pixels stands only the directory that tifffile wrote, of which all was read.
    """
    notes = directories.maker_notes(entries)
    if len(notes) != 1:
        return [_displaced(entry) for entry in entries], bool(notes)
    (note,) = notes
    end = note.place + len(note.value)
    starts = [place for entry in written if entry.code in _STARTS for place in form.numbers(entry)]
    size = file.seek(0, os.SEEK_END)
    if (note.place >= 16 and end <= min(starts)) or size <= note.place <= size + _FAR:
        file.seek(note.place)
        file.write(note.value)
        return entries, False
    return [_displaced(entry) for entry in entries], True


def _displaced(entry: Entry) -> Entry:
    below = tuple(tuple(map(_displaced, one)) for one in entry.below)
    return replace(entry, below=below, place=0)


def form_of(magic: bytes) -> Form:
    """How a file with these first four bytes counts."""
    order = "<" if magic[:1] == b"I" else ">"
    return Form(order, 43 in magic[2:4])


def _layout(source: Directory, written: Directory, form: Form, same_depth: bool) -> list[Entry]:
    before, after = ({entry.code: entry for entry in one} for one in (source, written))
    height = form.numbers(after[257])[0]

    def said(tags: dict[int, Entry], code: int) -> tuple[int, ...]:
        values = form.numbers(tags[code]) if code in tags else _LAYOUT[code]
        if code == _ROWS:
            return (min(*values, height),)
        if code == _EXTRA:
            return tuple(value for value in values if value)  # unspecified is what a missing one is
        return values[:1] if len(set(values)) == 1 else values

    chosen = []
    for code in _LAYOUT:
        whole = code == _FORMAT and same_depth  # floats under a horizontal predictor were written as whole numbers
        tags = before if whole or said(before, code) == said(after, code) else after
        chosen += [tags[code]] if code in tags else []
    return chosen


def _profile(source: Directory, icc: bytes | None) -> list[Entry]:
    kept = [entry for entry in source if entry.code == ICC and entry.value == icc]
    return kept or ([Entry(ICC, 7, len(icc), icc)] if icc else [])


def _software(source: Directory, stamp: str | None) -> list[Entry]:
    kept = [entry for entry in source if entry.code == SOFTWARE]
    if stamp is None:
        return kept
    said = b"; ".join([*(entry.value.rstrip(b"\0") for entry in kept if entry.value.rstrip(b"\0")), stamp.encode()])
    return [Entry(SOFTWARE, 2, len(said) + 1, said + b"\0")]
