"""Reads untrusted XML into a small tree, within limits; no document type, no entities, no network."""

from dataclasses import dataclass, field
from xml.parsers import expat

from poise.errors import PoiseError, one_line

XML = "http://www.w3.org/XML/1998/namespace"
LARGEST = 16 * 2**20
"""The largest file in bytes."""
MOST_NODES = 2**18
DEEPEST = 64
MOST_PREFIXES = 64
"""Namespace prefixes in scope, at most."""
LONGEST = 4096
"""Characters of a text that are kept, plus one if it is longer."""


@dataclass(slots=True)
class Node:
    """An element.

    Attributes:
        name, namespace: the namespace is empty if there is none; names of attributes keep their prefix.
        line: the line where it begins.
        text: its own characters, at most `LONGEST` + 1.
    """

    name: str
    namespace: str
    line: int
    attributes: dict[str, str] = field(default_factory=dict)
    children: list["Node"] = field(default_factory=list)
    text: str = ""

    def all(self, *names: str) -> "list[Node]":
        """The children with these names."""
        return [node for node in self.children if node.name in names]


def parse(content: bytes) -> Node:
    """Parse a file, and return its root.

    A document type is refused, so that nothing can be declared, expanded or fetched.

    Raises:
        PoiseError: the file is not well-formed XML, has a document type, or exceeds a limit; names the line.

    Example:
        >>> parse(b'<quay xmlns="urn:x"><ferry id="1"/></quay>').all("ferry")[0].attributes
        {'id': '1'}
    """
    if len(content) > LARGEST:
        raise PoiseError(f"larger than {LARGEST >> 20} MB, too large for such a file")
    reader = _Reader()
    parser = expat.ParserCreate()  # its own handling of namespaces repeats them, however long, in every name
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = reader.doctype
    parser.StartElementHandler = lambda name, attributes: reader.start(name, attributes, parser.CurrentLineNumber)
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.characters
    try:
        parser.Parse(content, True)
    except expat.ExpatError as fault:
        why = f"{expat.ErrorString(fault.code)}, line {fault.lineno}"
        raise PoiseError(f"not XML: {why}; check that it is the right file, and complete") from None
    except (LookupError, ValueError) as fault:  # an unknown encoding, or not one of text
        raise PoiseError(f"its encoding can't be read ({one_line(fault)[:80]}); save it as UTF-8") from None
    assert reader.root is not None  # expat refuses an empty document
    return reader.root


class _Reader:
    """The handlers of the parser, and the tree so far."""

    def __init__(self) -> None:
        self.root: Node | None = None
        self.open: list[Node] = []
        self.nodes = 0
        self._spaces: list[dict[str, str]] = [{"": "", "xml": XML}]

    def doctype(self, *_: object) -> None:
        raise PoiseError("it has a document type (DTD), which could declare anything; save it without")

    def start(self, name: str, attributes: dict[str, str], line: int) -> None:
        self.nodes += 1
        if self.nodes > MOST_NODES or len(self.open) >= DEEPEST:
            limit = f"more than {MOST_NODES:,} elements" if self.nodes > MOST_NODES else f"{DEEPEST} levels deep"
            raise PoiseError(f"it is {limit}, over the limit, line {line}; split the file")
        spaces = self._declared(attributes, line)
        prefix, _, local = name.rpartition(":")
        if prefix not in spaces:
            raise PoiseError(f"not XML: the prefix {prefix[:40]!r} has no namespace, line {line}")
        node = Node(local, spaces[prefix], line, attributes)
        if self.open:
            self.open[-1].children.append(node)
        else:
            self.root = node
        self.open.append(node)
        self._spaces.append(spaces)

    def end(self, name: str) -> None:
        self.open.pop()
        self._spaces.pop()

    def _declared(self, attributes: dict[str, str], line: int) -> dict[str, str]:
        """The namespaces in scope by prefix, "" for the default, with those of this element (Namespaces in XML, 6)."""
        new = {key.partition(":")[2]: uri for key, uri in attributes.items() if key.partition(":")[0] == "xmlns"}
        if not new:
            return self._spaces[-1]
        spaces = {**self._spaces[-1], **new} if len(new) <= MOST_PREFIXES else new
        if len(spaces) > MOST_PREFIXES:
            raise PoiseError(f"more than {MOST_PREFIXES} namespace prefixes, line {line}; save it with fewer")
        return spaces

    def characters(self, text: str) -> None:
        node = self.open[-1]
        if len(node.text) <= LONGEST:
            node.text = (node.text + text)[: LONGEST + 1]
