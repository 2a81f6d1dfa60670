"""Writes ASC CDL v1.2 as XML: `.cc` for a shot, `.ccc` for a reel, `.cdl` for a reel with references to media."""

from collections.abc import Sequence
from decimal import Decimal
from xml.etree import ElementTree as tree

from poise.errors import one_line
from poise.exchange.cdl.model import Cdl, Entry
from poise.exchange.seal import sealed

NAMESPACE = "urn:ASC:CDL:v1.2"


def cc(entry: Entry) -> bytes:
    """Write one ColorCorrection.

    Example:
        >>> b"<Saturation>1.1</Saturation>" in cc(Entry("quay_02", Cdl(saturation=1.1)))
        True
    """
    return _file(_correction(entry))


def ccc(entries: Sequence[Entry], about: str) -> bytes:
    """Write a ColorCorrectionCollection.

    Args:
        entries: with unique ids.
        about: its description.
    """
    root = tree.Element("ColorCorrectionCollection")
    _text(root, "Description", about)
    root.extend(_correction(entry) for entry in entries)
    return _file(root)


def decision_list(entries: Sequence[Entry], about: str) -> bytes:
    """Write a ColorDecisionList: each decision names its media; a correction equal to an earlier one is a reference.

    Args:
        entries: their ids unique; entries that differ in id and media only share one correction.
        about: its description.
    """
    root = tree.Element("ColorDecisionList")
    _text(root, "Description", about)
    known: dict[tuple[object, ...], str] = {}
    for entry in entries:
        decision = tree.SubElement(root, "ColorDecision")
        for media in entry.media:
            tree.SubElement(decision, "MediaRef", ref=media)
        same = (entry.cdl, entry.descriptions, entry.input, entry.viewing)
        if same in known:
            tree.SubElement(decision, "ColorCorrectionRef", ref=known[same])
        else:
            decision.append(_correction(entry))
            known[same] = entry.id or ""
    return _file(root)


def _correction(entry: Entry) -> tree.Element:
    node = tree.Element("ColorCorrection", {} if entry.id is None else {"id": entry.id})
    for name, text in (("InputDescription", entry.input), ("ViewingDescription", entry.viewing)):
        if text:
            _text(node, name, text)
    sop = tree.SubElement(node, "SOPNode")
    for text in entry.descriptions:
        _text(sop, "Description", text)
    cdl: Cdl = entry.cdl
    for name, values in (("Slope", cdl.slope), ("Offset", cdl.offset), ("Power", cdl.power)):
        _text(sop, name, " ".join(map(_number, values)))
    _text(tree.SubElement(node, "SatNode"), "Saturation", _number(cdl.saturation))
    return node


def _number(value: float) -> str:
    """The shortest decimal that reads back as the same number, without an exponent, which some readers refuse."""
    return format(Decimal(repr(value + 0.0)), "f")


def _text(parent: tree.Element, name: str, text: str) -> None:
    tree.SubElement(parent, name).text = one_line(text)


def _file(root: tree.Element) -> bytes:
    root.set("xmlns", NAMESPACE)
    tree.indent(root)
    return sealed(tree.tostring(root, encoding="UTF-8", xml_declaration=True))
