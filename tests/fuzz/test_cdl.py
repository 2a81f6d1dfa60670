"""Hostile files of ASC CDL: each is read, and comes back the same when written again, or is refused in one line.

More by hand: POISE_THOROUGH=100 pytest tests/fuzz/test_cdl.py
"""

import math
from copy import deepcopy
from random import Random
from xml.etree import ElementTree as tree

from hypothesis import given, settings
from hypothesis import strategies as st
from mutations import mutated
from thorough import many

from poise.correction import Encoding
from poise.errors import PoiseError, one_line
from poise.exchange.cdl import Cdl, Entry, cc, ccc, code_descriptions, decision_list
from poise.exchange.cdl.read import entries

MANY = many(200, 4000)
SHOTS = [
    Entry(
        f"quay_{n}",
        Cdl(saturation=1 + n % 2),
        (f"day/quay%20{n}.tif",),
        ("poise 0.1.0", "fog"),
        *code_descriptions(Encoding()),
    )
    for n in range(4)
]
WHOLE = [cc(SHOTS[0]), ccc(SHOTS, "day"), decision_list(SHOTS, "day")]
TEXTS = (
    *("", " ", "1", "-1", "0", "1e999", "nan", "1 1", "1 1 1", "1 1 1 1", "0x1", "1_0", "\u0661", "quay_0", "a" * 5000),
    *(
        "<x>",
        "</x>",
        "<!--",
        "-->",
        "<![CDATA[1 1 1]]>",
        "<?x?>",
        "&amp;",
        "&#0;",
        "&#x10ffff;",
        "&lol;",
        "]]>",
        "\x00",
    ),
    *('<!DOCTYPE x [<!ENTITY a "b">]>', '<!DOCTYPE x SYSTEM "file:///etc/passwd">', "<a>" * 80, "<SatNode/>"),
    *('xmlns="urn:x"', 'xmlns:x="urn:ASC:CDL:v1.2"', 'id="quay_1"', 'ref="#quay_1"', "<x:Slope>1 1 1</x:Slope>"),
    *(
        "SOPNODE",
        "SatNode",
        "Slope",
        "Power",
        "ColorCorrectionRef",
        "ColorDecision",
        "urn:ASC:CDL:v1.01",
        "utf-7",
        "hex",
    ),
)


def reshaped(chance: Random) -> bytes:
    """Whole XML, of which elements, their names, texts and attributes are others, gone, doubled or elsewhere."""
    root = tree.fromstring(chance.choice(WHOLE))
    for _ in range(chance.choice((0, 1, 1, 2, 4))):
        nodes = list(root.iter())
        node, other = chance.choice(nodes), chance.choice(nodes)
        step = chance.randrange(6)
        if step == 0:
            node.text = chance.choice(TEXTS)
        elif step == 1:
            node.insert(chance.randrange(len(node) + 1), deepcopy(other))
        elif step == 2 and len(node):
            node.remove(chance.choice(list(node)))
        elif step == 3:
            node.tag = chance.choice((other.tag, "x", "{urn:x}Slope", node.tag.partition("}")[2] or "y"))
        elif step == 4:
            node.set(chance.choice(("id", "ref", "crew")), chance.choice(TEXTS))
        else:
            node.text = other.text
    return tree.tostring(root, encoding=chance.choice(("utf-8", "utf-8", "utf-16", "us-ascii")), xml_declaration=True)


def torn(chance: Random) -> bytes:
    """A whole file in which pieces of text are others, gone, doubled or in another place."""
    content = chance.choice(WHOLE).decode()
    for _ in range(chance.choice((1, 1, 2, 4))):
        places = [at for at, letter in enumerate(content) if letter in "<> \"'\n"] or [0]
        first, last = sorted((chance.choice(places), chance.choice(places)))
        last = min(last, first + 200)
        step = chance.randrange(3)
        if step == 0:
            content = content[:first] + chance.choice(TEXTS) + content[first:]
        elif step == 1:
            content = content[:first] + chance.choice(TEXTS) + content[last:]
        else:
            content = content[:last] + content[first:last] * chance.choice((1, 3)) + content[last:]
    return content.encode("utf-8", "replace")


def hostile(number: int) -> bytes:
    chance = Random(number)
    content = reshaped(chance) if chance.randrange(4) else torn(chance)
    return mutated([content], number) if chance.randrange(5) == 0 else content


def taken(content: bytes) -> tuple[list[Entry], PoiseError | None]:
    """What is read, or the refusal; anything else that is raised is a fault."""
    try:
        return entries(content), None
    except PoiseError as fault:
        return [], fault


@settings(max_examples=MANY, deadline=10_000)
@given(number=st.integers(0, 2**63))
def test_a_hostile_file_is_read_or_refused_in_one_line(number: int) -> None:
    found, fault = taken(hostile(number))
    assert (fault is None) == bool(found)
    if fault is not None:
        assert len(one_line(fault)) < 300
    for one in found:
        cdl = one.cdl
        values = (*cdl.slope, *cdl.offset, *cdl.power, cdl.saturation)
        assert all(math.isfinite(value) for value in values)
        assert min(*cdl.slope, cdl.saturation) >= 0 < min(cdl.power)
        assert entries(cc(one))[0].cdl == cdl
    named = [one.id for one in found if one.id is not None]
    assert len(set(named)) == len(named)
