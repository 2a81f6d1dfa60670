"""Reads ASC CDL from XML: `.cc`, `.ccc` and `.cdl`, in common spellings; refuses doubtful files."""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from poise.errors import FileError, PoiseError, one_line
from poise.exchange.cdl.model import Cdl, Entry, Triple
from poise.exchange.xml import LARGEST, LONGEST, Node, parse
from poise.regular_file import open_regular_file

NAMESPACES = ("", "urn:ASC:CDL:v1.2", "urn:ASC:CDL:v1.01")
MOST_ENTRIES = 10_000
LONGEST_ID = 1024
SOP, SAT = ("SOPNode", "SOPNODE"), ("SatNode", "SATNODE", "SATNode")

_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,4})?")


class CdlError(FileError):
    """A file of ASC CDL can't be read."""


def read(path: Path) -> list[Entry]:
    """Read the corrections in a file, in order; references are resolved.

    A ColorCorrection without SOPNode or without SatNode is neutral in that part. Unknown elements and namespaces are
    ignored.

    Raises:
        CdlError: the file can't be read, is not ASC CDL, exceeds a limit, or has a missing or invalid number.

    Example:
        read(Path("quay_02.cc"))[0].cdl.slope
    """
    try:
        with open(path, "rb", opener=open_regular_file) as file:
            content = file.read(LARGEST + 1)
    except OSError as fault:
        if path.is_dir():
            raise CdlError(path, "this is a folder; name the .cc, .ccc or .cdl files in it") from None
        raise CdlError(path, f"can't be read: {(fault.strerror or str(fault)).lower()}; check the name") from None
    if not content.strip():
        raise CdlError(path, "the file is empty; copy it again")
    try:
        return entries(content)
    except PoiseError as fault:
        raise CdlError(path, str(fault)) from None


def entries(content: bytes) -> list[Entry]:
    """Read the corrections in the content of a file.

    Raises:
        PoiseError: as `read`, without the path.
    """
    root = parse(content)
    if root.namespace not in NAMESPACES:
        other = root.namespace[:60]
        raise PoiseError(f"its namespace {other!r} is not that of ASC CDL; expected {NAMESPACES[1]}")
    if root.name not in _ROOTS:
        raise PoiseError(f"its root is {one_line(root.name)[:60]}; expected {', '.join(_ROOTS)}")
    found = list(_ROOTS[root.name](root))
    if not found:
        raise PoiseError("it has no ColorCorrection; nothing to do")
    return found


def _one(root: Node) -> Iterator[Entry]:
    yield _entry(root)


def _collection(root: Node) -> Iterator[Entry]:
    yield from _unique(_few(_known(root, "ColorCorrection")))


def _decisions(root: Node) -> Iterator[Entry]:
    decided: list[tuple[Node, tuple[str, ...]]] = []
    for one in _few(_known(root, "ColorDecision")):
        nodes = _known(one, "ColorCorrection", "ColorCorrectionRef")
        if len(nodes) != 1:
            raise PoiseError(f"a ColorDecision has {len(nodes)} corrections, line {one.line}; it takes one")
        decided.append((nodes[0], tuple(_attribute(ref, "ref") for ref in _known(one, "MediaRef"))))
    corrections = _unique([node for node, _ in decided if node.name == "ColorCorrection"])
    named = {entry.id: entry for entry in corrections}
    own = iter(corrections)
    for node, media in decided:
        if node.name == "ColorCorrection":
            yield replace(next(own), media=media)
            continue
        wanted = _attribute(node, "ref").removeprefix("#")
        what = f"a ColorCorrectionRef to {wanted[:60]!r}, line {node.line},"
        if wanted not in named:
            raise PoiseError(f"{what} refers to nothing in this file")
        if not media:
            raise PoiseError(f"{what} has no MediaRef, so it applies to nothing")
        yield replace(named[wanted], id=None, media=media)


_ROOTS = {"ColorCorrection": _one, "ColorCorrectionCollection": _collection, "ColorDecisionList": _decisions}


def _unique(nodes: list[Node]) -> list[Entry]:
    """The corrections of nodes.

    Raises:
        PoiseError: two of them have the same id.
    """
    found: list[Entry] = []
    seen: set[str] = set()
    for node in nodes:
        entry = _entry(node)
        if entry.id is not None:
            if entry.id in seen:
                raise PoiseError(f"the id {entry.id[:60]!r} occurs twice, line {node.line}; rename one")
            seen.add(entry.id)
        found.append(entry)
    return found


def _entry(node: Node) -> Entry:
    sops, sats = _known(node, *SOP), _known(node, *SAT)
    name = node.attributes.get("id", "").strip()
    if len(name) > LONGEST_ID:
        raise PoiseError(f"an id is longer than {LONGEST_ID:,} characters, line {node.line}; shorten it")
    if len(sops) > 1 or len(sats) > 1:
        raise PoiseError(f"a ColorCorrection has more than one SOPNode or SatNode, line {node.line}; it takes one each")
    if not (sops or sats):
        raise PoiseError(f"a ColorCorrection has neither SOPNode nor SatNode, line {node.line}")
    cdl = Cdl()
    if sops:
        cdl = Cdl(_triple(sops[0], "Slope"), _triple(sops[0], "Offset"), _triple(sops[0], "Power"))
    if sats:
        (saturation,) = _numbers(sats[0], "Saturation", 1)
        cdl = replace(cdl, saturation=saturation)
    descriptions = tuple(text.text.strip() for sop in sops for text in _known(sop, "Description"))
    code, out = (_words(node, name) for name in ("InputDescription", "ViewingDescription"))
    return Entry(name or None, cdl, (), descriptions, code, out)


def _words(node: Node, name: str) -> str:
    return " ".join(text.text.strip() for text in _known(node, name))


def _triple(node: Node, name: str) -> Triple:
    red, green, blue = _numbers(node, name, 3)
    return red, green, blue


def _numbers(node: Node, name: str, count: int) -> list[float]:
    """The numbers of one child element, within the limits of ASC CDL."""
    found = _known(node, name)
    if len(found) != 1:
        how = "is missing" if not found else "occurs twice"
        raise PoiseError(f"{name} {how} in a {node.name}, line {node.line}")
    words, line = found[0].text.split(), found[0].line
    if len(found[0].text) > LONGEST:
        raise PoiseError(f"{name} is longer than {LONGEST:,} characters, line {line}")
    if len(words) != count:
        raise PoiseError(f"{name} has {len(words)} numbers, line {line}; it takes {count}")
    values = [_number(word, name, line) for word in words]
    if (name in ("Slope", "Saturation") and min(values) < 0) or (name == "Power" and min(values) <= 0):
        least = "0 or more" if name != "Power" else "above 0"
        raise PoiseError(f"{name} is {min(values):g}, line {line}; ASC CDL takes {least}")
    return values


def _number(word: str, name: str, line: int) -> float:
    value = float(word) if _NUMBER.fullmatch(word) else math.nan
    if not math.isfinite(value):
        raise PoiseError(f"{name} is {word[:40]!r}, line {line}; a number such as 1.05 is needed")
    return value + 0.0


def _known(node: Node, *names: str) -> list[Node]:
    return [child for child in node.all(*names) if child.namespace in NAMESPACES]


def _attribute(node: Node, name: str) -> str:
    value = node.attributes.get(name, "").strip()
    if not value:
        raise PoiseError(f"a {node.name} has no {name}, line {node.line}")
    if len(value) > LONGEST:
        raise PoiseError(f"the {name} of a {node.name} is longer than {LONGEST:,} characters, line {node.line}")
    return value


def _few(nodes: list[Node]) -> list[Node]:
    if len(nodes) > MOST_ENTRIES:
        limit = f"over the limit of {MOST_ENTRIES:,}"
        raise PoiseError(f"it has {len(nodes):,} corrections, {limit}; split the file")
    return nodes
