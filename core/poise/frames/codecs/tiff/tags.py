"""Copies the tags of the source to a written TIFF: all but those that say how and where the pixels are stored."""

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
"""Tags of how pixels are stored, with the standard's default for a missing one."""
_PLACES = frozenset({273, 279, 324, 325})
_STARTS = frozenset({273, 324})
_FREE = frozenset({288, 289})
_SMALLER = 330
_LAYERS = 37724
_OF_DEPTH = {280: "MinSampleValue", 281: "MaxSampleValue", 291: "GrayResponseCurve", 301: "TransferFunction"}
_OF_DEPTH |= {340: "SMinSampleValue", 341: "SMaxSampleValue", 532: "ReferenceBlackWhite"}
"""Tags in codes of the source's depth."""
_OF_ENCODING = {291: "GrayResponseCurve", 301: "TransferFunction", 318: "WhitePoint", 319: "PrimaryChromaticities"}
"""Tags that describe the encoding of the source's codes."""
UNREAD = _PLACES | _FREE | {_SMALLER, _LAYERS}
"""Tags that are never kept: the places of the source's pixels, and other pictures of the uncorrected source."""
_RESOURCES, _THUMBNAILS = 34377, (b"8BIM\x04\x09", b"8BIM\x04\x0c")
_PICTURES = {_SMALLER: "smaller pictures (SubIFDs)", _LAYERS: "layers"}
_GROUPS = {34665: "EXIF", 34853: "GPS", 700: "XMP", 33723: "IPTC", 274: "orientation", 282: "resolution"}
_RESOLUTION = {283, 296}
_NEAR, _FAR = 2**20, 2**24
"""The bytes that a file may grow by to keep a MakerNote in its place: ahead of the pixels, and after them."""


def uncorrected(codes: Collection[int], previews: int) -> tuple[str, ...]:
    """A note on smaller pictures and layers in a file, which are left out as they show the uncorrected picture."""
    kinds = [f"{previews} smaller picture{'s' * (previews > 1)}"] if previews else []
    kinds += [what for code, what in _PICTURES.items() if code in codes]
    return (f"left out: {' and '.join(kinds)} of the uncorrected picture",) if kinds else ()


def outdated(directory: Directory) -> tuple[str, ...]:
    """A note on a thumbnail in the image resources, which is kept although it shows the uncorrected picture."""
    found = any(entry.code == _RESOURCES and any(mark in entry.value for mark in _THUMBNAILS) for entry in directory)
    return ("the thumbnail in its image resources shows the uncorrected picture",) * found


def holds(directory: Directory, names: Mapping[int, str]) -> tuple[str, ...]:
    """The metadata in a directory by groups such as EXIF, and other tags by name."""
    known = {entry.code for entry in directory} - _LAYOUT.keys() - _RESOLUTION - {254, 255, 297, ICC}
    if len(known - _GROUPS.keys()) > 8:
        rest = [f"{len(known - _GROUPS.keys())} other tags"]
    else:
        rest = [names.get(code, f"tag {code}") for code in sorted(known - _GROUPS.keys())]
    return (*(word for code, word in _GROUPS.items() if code in known), *rest)


def room(directory: Directory, pixels: int) -> int:
    """The place before which an output must have no pixels, so that a MakerNote keeps its place.

    Args:
        pixels: the place where the pixels of the source begin.
    """
    end = max((note.place + len(note.value) for note in directories.maker_notes(directory)), default=0)
    return end if end <= max(pixels, _NEAR) else 0


def give(path: Path, source: Directory, frame: Frame, same_depth: bool, stamp: str | None) -> tuple[str, ...]:
    """Give a written TIFF the tags of its source.

    A tag of layout is stored as in the source, with the same type, if its value is still right.

    Args:
        path: a file written by tifffile in the source's byte order, with only the picture in it.
        frame: the frame that was written; its profile is kept.
        same_depth: whether the depth is that of the source.
        stamp: added to the Software tag.

    Returns:
        Notes on tags that another depth or encoding invalidates.
    """
    with path.open("r+b") as file:
        form = directories.form_of(file.read(4))
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
    notes = ["its MakerNote had to move; offsets in it that count from the start of the file are wrong"] * moved
    notes += [f"not kept at another depth: {', '.join(counted.values())}"] if counted else []
    notes += [f"not kept in another encoding: {', '.join(coded.values())}"] if coded else []
    return tuple(notes)


def _maker_note(file: BinaryIO, entries: list[Entry], written: Directory, form: Form) -> tuple[list[Entry], bool]:
    """The entries, with a MakerNote written at its old place if that is free, and whether it had to move.

    Ahead of the pixels there is only the directory that tifffile wrote, which has been read completely.
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


def _layout(source: Directory, written: Directory, form: Form, same_depth: bool) -> list[Entry]:
    before, after = ({entry.code: entry for entry in one} for one in (source, written))
    height = form.numbers(after[257])[0]

    def said(tags: dict[int, Entry], code: int) -> tuple[int, ...]:
        values = form.numbers(tags[code]) if code in tags else _LAYOUT[code]
        if code == _ROWS:
            return (min(*values, height),)
        if code == _EXTRA:
            return tuple(value for value in values if value)  # a missing one is unspecified
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
