"""What stands in a file of the Common LUT Format, before OpenColorIO reads it.

OpenColorIO passes over elements and attributes that it doesn't know, follows a reference to another file, and takes a
file for any format that fits. A file from elsewhere is handed to it when it holds only what the standard defines.
"""

import math
from xml.parsers import expat

from poise.errors import PoiseError, one_line

MOST_BYTES = 64 * 2**20
MOST_NUMBERS = 3 * 2**21
"""In all arrays: a cube of 128 and some tables."""
LARGEST_CUBE, LONGEST_TABLE = 128, 65536
MOST_NODES = 64
MOST_ELEMENTS, DEEPEST = 4096, 12

NODES = frozenset({"LUT1D", "LUT3D", "Matrix", "Range", "Log", "Exponent", "ASC_CDL"})
"""The process nodes of Academy S-2014-006, version 3.0."""
TOLD = frozenset({"Description", "InputDescriptor", "OutputDescriptor", "Info", "Id"})
"""What tells of a file or a node, and changes no picture."""
PARTS = TOLD | {
    *("Array", "minInValue", "maxInValue", "minOutValue", "maxOutValue", "LogParams", "ExponentParams"),
    *("SOPNode", "Slope", "Offset", "Power", "SatNode", "Saturation"),
}
"""What stands inside a node; an IndexMap did before version 3, and OpenColorIO passes over it in later files."""
ATTRIBUTES = frozenset(
    {
        *("id", "name", "inBitDepth", "outBitDepth", "dim", "halfDomain", "rawHalfs", "interpolation", "style"),
        *("channel", "exponent", "offset", "base", "logSideSlope", "logSideOffset"),
        *("linSideSlope", "linSideOffset", "linSideBreak", "linearSlope"),
    }
)
"""Those of nodes and of what stands inside them."""


def validate(content: bytes) -> None:
    """Whether a file holds what the standard defines and no more than the limits.

    Raises:
        PoiseError: it doesn't; in one line, which begins with what it is.

    Example:
        looked_through(Path("camera_a.clf").read_bytes())
    """
    if len(content) > MOST_BYTES:
        raise PoiseError(f"larger than {MOST_BYTES >> 20} MB, over the limit; use a smaller table")
    if not content.strip():
        raise PoiseError("it is empty; copy it again")
    parser = expat.ParserCreate()
    walk = _Walk()
    parser.StartElementHandler = walk.start
    parser.EndElementHandler = walk.end
    parser.StartDoctypeDeclHandler = _doctype
    try:
        parser.Parse(content, True)
    except expat.ExpatError as fault:
        raise PoiseError(f"no XML that is whole: {expat.ErrorString(fault.code)}, line {fault.lineno}") from None
    except (ValueError, LookupError) as fault:  # an encoding that expat or Python doesn't have
        raise PoiseError(f"no XML that can be read: {one_line(fault)[:80]}") from None
    if not walk.nodes:
        raise PoiseError("it holds no process node, so it does nothing; make it anew")


def _doctype(*_: object) -> None:
    raise PoiseError("it declares a document type, which this format has not; take that out")


class _Walk:
    """Goes through the elements, and refuses what doesn't belong."""

    def __init__(self) -> None:
        self.nodes = self._elements = self._numbers = 0
        self._path: list[str] = []

    def start(self, name: str, attributes: dict[str, str]) -> None:
        path = self._path
        self._elements += 1
        if self._elements > MOST_ELEMENTS or len(path) >= DEEPEST:
            raise PoiseError(f"more than {MOST_ELEMENTS:,} elements, or {DEEPEST} of them in each other")
        if not path:
            self._root(name, attributes)
        elif len(path) == 1:
            self._child(name, attributes)
        elif path[1] in NODES and not (len(path) > 2 and path[2] in TOLD):
            if name not in PARTS:
                raise PoiseError(f"its node {path[1]} holds {_quoted(name)}, which is not of this format")
            _known(name, attributes)
            if name == "Array":
                self._array(path[1], attributes.get("dim", ""))
        path.append(name)

    def end(self, name: str) -> None:
        self._path.pop()

    def _root(self, name: str, attributes: dict[str, str]) -> None:
        if name != "ProcessList":
            raise PoiseError(f"it begins with {_quoted(name)}, so it is not in the Common LUT Format")
        if not attributes.keys() & {"compCLFversion", "xmlns"}:
            raise PoiseError("no compCLFversion is given, so it is not in the Common LUT Format")

    def _child(self, name: str, attributes: dict[str, str]) -> None:
        if name in TOLD:
            return
        if name == "Reference":
            raise PoiseError("it leads to another file by a Reference; put the nodes of that file in its place")
        if name not in NODES:
            raise PoiseError(f"the node {_quoted(name)} is not one of {', '.join(sorted(NODES))}")
        _known(name, attributes)
        self.nodes += 1
        if self.nodes > MOST_NODES:
            raise PoiseError(f"more than {MOST_NODES} process nodes, over the limit")

    def _array(self, node: str, dim: str) -> None:
        try:
            sizes = [int(size) for size in dim[:100].split()]
        except ValueError:
            sizes = []
        if len(sizes) < 2 or min(sizes) < 1:
            raise PoiseError(f"an Array in its {node} has dim={_quoted(dim)}, which is no size")
        if node == "LUT3D" and max(sizes) > LARGEST_CUBE:
            raise PoiseError(f"a cube of {max(sizes)} points a side, over the limit of {LARGEST_CUBE}; use a smaller")
        if max(sizes) > LONGEST_TABLE:
            raise PoiseError(f"a table of {max(sizes)} entries, over the limit of {LONGEST_TABLE}; use a shorter one")
        self._numbers += math.prod(sizes)
        if self._numbers > MOST_NUMBERS:
            raise PoiseError(f"more than {MOST_NUMBERS:,} numbers in its tables, over the limit; use smaller ones")


def _known(name: str, attributes: dict[str, str]) -> None:
    unknown = [attribute for attribute in attributes if attribute not in ATTRIBUTES]
    if unknown:
        raise PoiseError(f"its {name} has the attribute {_quoted(unknown[0])}, which is not of this format")


def _quoted(text: str) -> str:
    return one_line(repr(text[:40]))
