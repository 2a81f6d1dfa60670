"""Validates a file in the Common LUT Format before OpenColorIO reads it.

OpenColorIO ignores unknown elements and attributes, follows references to other files, and guesses the format. So a
file is handed to it only if it holds nothing but what the standard defines.
"""

import math
from xml.parsers import expat

from poise.errors import PoiseError, one_line

MOST_BYTES = 64 * 2**20
MOST_NUMBERS = 3 * 2**21
"""In all arrays together: enough for a cube of 128 points a side and some tables."""
LARGEST_CUBE, LONGEST_TABLE = 128, 65536
MOST_NODES = 64
MOST_ELEMENTS, DEEPEST = 4096, 12

NODES = frozenset({"LUT1D", "LUT3D", "Matrix", "Range", "Log", "Exponent", "ASC_CDL"})
"""The process nodes of Academy S-2014-006, version 3.0."""
METADATA = frozenset({"Description", "InputDescriptor", "OutputDescriptor", "Info", "Id"})
"""Elements that describe a file or a node and change no picture."""
PARTS = METADATA | {
    *("Array", "minInValue", "maxInValue", "minOutValue", "maxOutValue", "LogParams", "ExponentParams"),
    *("SOPNode", "Slope", "Offset", "Power", "SatNode", "Saturation"),
}
"""Elements inside a node. IndexMap is not one of them: version 3 dropped it, and OpenColorIO ignores it there."""
ATTRIBUTES = frozenset(
    {
        *("id", "name", "inBitDepth", "outBitDepth", "dim", "halfDomain", "rawHalfs", "interpolation", "style"),
        *("channel", "exponent", "offset", "base", "logSideSlope", "logSideOffset"),
        *("linSideSlope", "linSideOffset", "linSideBreak", "linearSlope"),
    }
)
"""Attributes of nodes and of the elements inside them."""


def validate(content: bytes) -> None:
    """Check that a file holds only what the standard defines (Academy S-2014-006), within the limits above.

    Raises:
        PoiseError: the content is not XML, not CLF, or over a limit.

    Example:
        validate(Path("camera_a.clf").read_bytes())
    """
    if len(content) > MOST_BYTES:
        raise PoiseError(f"it is over the limit of {MOST_BYTES >> 20} MB; use a smaller table")
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
        raise PoiseError(f"it is not well-formed XML: {expat.ErrorString(fault.code)}, line {fault.lineno}") from None
    except (ValueError, LookupError) as fault:  # a text encoding that neither expat nor Python knows
        raise PoiseError(f"it is not readable XML: {one_line(fault)[:80]}") from None
    if not walk.nodes:
        raise PoiseError("it holds no process node, so it does nothing; export it again")


def _doctype(*_: object) -> None:
    raise PoiseError("it declares a document type, which this format does not allow; remove the declaration")


class _Walk:
    """Walks through the elements and rejects those that don't belong."""

    def __init__(self) -> None:
        self.nodes = self._elements = self._numbers = 0
        self._path: list[str] = []

    def start(self, name: str, attributes: dict[str, str]) -> None:
        path = self._path
        self._elements += 1
        if self._elements > MOST_ELEMENTS or len(path) >= DEEPEST:
            raise PoiseError(f"it has more than {MOST_ELEMENTS:,} elements, or nests them deeper than {DEEPEST} levels")
        if not path:
            self._root(name, attributes)
        elif len(path) == 1:
            self._child(name, attributes)
        elif path[1] in NODES and not (len(path) > 2 and path[2] in METADATA):
            if name not in PARTS:
                raise PoiseError(f"its node {path[1]} holds {_quoted(name)}, which this format does not define")
            _known(name, attributes)
            if name == "Array":
                self._array(path[1], attributes.get("dim", ""))
        path.append(name)

    def end(self, name: str) -> None:
        self._path.pop()

    def _root(self, name: str, attributes: dict[str, str]) -> None:
        if name != "ProcessList":
            raise PoiseError(f"its root is {_quoted(name)}, so it is not in the Common LUT Format")
        if not attributes.keys() & {"compCLFversion", "xmlns"}:
            raise PoiseError("it has no compCLFversion, so it is not in the Common LUT Format")

    def _child(self, name: str, attributes: dict[str, str]) -> None:
        if name in METADATA:
            return
        if name == "Reference":
            raise PoiseError("it refers to another file; put the nodes of that file in place of the Reference")
        if name not in NODES:
            raise PoiseError(f"the node {_quoted(name)} is not one of {', '.join(sorted(NODES))}")
        _known(name, attributes)
        self.nodes += 1
        if self.nodes > MOST_NODES:
            raise PoiseError(f"it has more than {MOST_NODES} process nodes, over the limit")

    def _array(self, node: str, dim: str) -> None:
        try:
            sizes = [int(size) for size in dim[:100].split()]
        except ValueError:
            sizes = []
        if len(sizes) < 2 or min(sizes) < 1:
            raise PoiseError(f"an Array in its {node} has dim={_quoted(dim)}, which is not a size")
        if node == "LUT3D" and max(sizes) > LARGEST_CUBE:
            raise PoiseError(f"a cube of {max(sizes)} points a side is over the limit of {LARGEST_CUBE}; use a smaller")
        if max(sizes) > LONGEST_TABLE:
            raise PoiseError(f"a table of {max(sizes)} entries is over the limit of {LONGEST_TABLE}; use a shorter one")
        self._numbers += math.prod(sizes)
        if self._numbers > MOST_NUMBERS:
            raise PoiseError(f"its tables hold over {MOST_NUMBERS:,} numbers, the limit; use smaller ones")


def _known(name: str, attributes: dict[str, str]) -> None:
    unknown = [attribute for attribute in attributes if attribute not in ATTRIBUTES]
    if unknown:
        raise PoiseError(f"its {name} has the attribute {_quoted(unknown[0])}, which this format does not define")


def _quoted(text: str) -> str:
    return one_line(repr(text[:40]))
