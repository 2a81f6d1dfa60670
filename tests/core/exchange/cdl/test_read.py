"""Files of ASC CDL in the spellings that are met, and all that is refused, each in one line."""

import os
import sys
import tracemalloc
from pathlib import Path

import pytest

from poise.errors import PoiseError
from poise.exchange import xml
from poise.exchange.cdl import Cdl, CdlError, read
from poise.exchange.cdl.read import entries

# Names, nesting and ranges: American Society of Cinematographers, ASC CDL v1.2
SOP = "<Slope>1.1 1 .9</Slope><Offset>.02 -.03 .05</Offset><Power>.9 1 1.2</Power>"
SAT = "<Saturation>1.25</Saturation>"
FULL = Cdl((1.1, 1.0, 0.9), (0.02, -0.03, 0.05), (0.9, 1.0, 1.2), 1.25)
BOTH = f"<SOPNode>{SOP}</SOPNode><SatNode>{SAT}</SatNode>"


def cc(inside: str = BOTH, attributes: str = 'id="quay_02"', space: str = ' xmlns="urn:ASC:CDL:v1.2"') -> bytes:
    return f"<ColorCorrection {attributes}{space}>{inside}</ColorCorrection>".encode()


def ccc(*inside: str) -> bytes:
    return f'<ColorCorrectionCollection xmlns="urn:ASC:CDL:v1.2">{"".join(inside)}</ColorCorrectionCollection>'.encode()


def decisions(*inside: str) -> bytes:
    body = "".join(f"<ColorDecision>{one}</ColorDecision>" for one in inside)
    return f'<ColorDecisionList xmlns="urn:ASC:CDL:v1.01">{body}</ColorDecisionList>'.encode()


def correction(name: str, inside: str = BOTH) -> str:
    return f'<ColorCorrection id="{name}">{inside}</ColorCorrection>'


@pytest.mark.parametrize(
    "content",
    [
        cc(),
        cc(space=""),
        cc(space=' xmlns="urn:ASC:CDL:v1.01"'),
        cc(BOTH.replace("SatNode", "SATNODE")),
        cc(BOTH.replace("SatNode", "SATNode").replace("SOPNode", "SOPNODE")),
        cc(f"<SatNode>{SAT}</SatNode><SOPNode>{SOP}</SOPNode>"),
        cc(BOTH.replace(".9 1 1.2", "\n 9.0e-1\t+1.\n12E-1 ")),
        cc(f"<crew:x xmlns:crew='urn:crew'><Slope>9</Slope></crew:x><Description>{'fog ' * 5000}</Description>{BOTH}"),
        b'<?xml version="1.0" encoding="UTF-8"?>\n<!-- from the lab -->' + cc(),
        b'<?xml version="1.0" encoding="ISO-8859-1"?>' + cc(f"<N>\xe9</N>{BOTH}").decode().encode("latin-1"),
        b"\xef\xbb\xbf" + cc(),
        ('<?xml version="1.0" encoding="UTF-16"?>' + cc().decode()).encode("utf-16"),
        cc(attributes="id='quay_02' crew='night'"),
        f'<a:ColorCorrection id="quay_02" xmlns:a="urn:ASC:CDL:v1.2">{BOTH}</a:ColorCorrection>'
        .replace("<S", "<a:S").replace("</S", "</a:S").replace("<O", "<a:O").replace("</O", "</a:O")
        .replace("<P", "<a:P").replace("</P", "</a:P").encode(),
    ],
)  # fmt: skip
def test_every_spelling_is_the_same_correction(content: bytes) -> None:
    (found,) = entries(content)
    assert (found.id, found.cdl) == ("quay_02", FULL)


def test_a_node_that_is_not_there_is_neutral() -> None:
    assert entries(cc(f"<SOPNode>{SOP}</SOPNode>"))[0].cdl == Cdl(FULL.slope, FULL.offset, FULL.power)
    assert entries(cc(f"<SatNode>{SAT}</SatNode>"))[0].cdl == Cdl(saturation=1.25)
    assert entries(cc(attributes=""))[0].id is None


def test_a_collection_keeps_its_order() -> None:
    dark = f"<SatNode>{SAT.replace('1.25', '0')}</SatNode>"
    found = entries(ccc("<Description>day</Description>", correction("quay_03"), correction("quay_02", dark)))
    assert [(one.id, one.cdl.saturation) for one in found] == [("quay_03", 1.25), ("quay_02", 0.0)]


def test_decisions_have_media_and_refer_to_each_other() -> None:
    found = entries(
        decisions(
            '<ColorCorrectionRef ref="dusk"/><MediaRef ref="quay_03.tif"/>',  # before what it refers to
            f'<MediaRef ref="day/quay%2002.tif"/><MediaRef ref="quay_05.tif"/>{correction("dusk")}',
            correction("quay_04"),
        )
    )
    assert [(one.id, one.media) for one in found] == [
        (None, ("quay_03.tif",)),
        ("dusk", ("day/quay%2002.tif", "quay_05.tif")),
        ("quay_04", ()),
    ]
    assert {one.cdl for one in found} == {FULL}


BAD: dict[str, tuple[bytes, str]] = {
    "no power": (cc(BOTH.replace("<Power>.9 1 1.2</Power>", "")), "Power is missing"),
    "power twice": (cc(BOTH.replace("</SOPNode>", "<Power>1 1 1</Power></SOPNode>")), "Power occurs twice"),
    "no saturation": (cc(f"<SOPNode>{SOP}</SOPNode><SatNode/>"), "Saturation is missing"),
    "negative slope": (cc(BOTH.replace("1.1 1 .9", "1.1 -1 .9")), "Slope is -1, line 1; ASC CDL takes 0 or more"),
    "negative saturation": (cc(BOTH.replace("1.25", "-.1")), "Saturation is -0.1"),
    "power of nothing": (cc(BOTH.replace(".9 1 1.2", ".9 0 1.2")), "Power is 0, line 1; ASC CDL takes above 0"),
    "two numbers": (cc(BOTH.replace("1.1 1 .9", "1.1 1")), "Slope has 2 numbers"),
    "four numbers": (cc(BOTH.replace("1.1 1 .9", "1 1 1 1")), "Slope has 4 numbers"),
    "not a number": (cc(BOTH.replace("1.1 1 .9", "1.1 NaN .9")), "Slope is 'NaN'"),
    "infinite": (cc(BOTH.replace("1.1 1 .9", "1.1 inf .9")), "Slope is 'inf'"),
    "too large": (cc(BOTH.replace("1.1 1 .9", "1.1 1e999 .9")), "Slope is '1e999'"),
    "comma": (cc(BOTH.replace("1.1 1 .9", "1,1 1 ,9")), "Slope is '1,1'"),
    "underscore": (cc(BOTH.replace("1.1 1 .9", "1_1 1 1")), "Slope is '1_1'"),
    "other digits": (cc(BOTH.replace("1.1 1 .9", "\u0661 1 1")), "Slope is"),
    "long": (cc(BOTH.replace("1.1 1 .9", "1 " * 3000)), "Slope is longer than 4,096 characters"),
    "nothing in it": (cc(""), "neither SOPNode nor SatNode"),
    "other names": (cc(BOTH.replace("<S", "<x:S").replace("</S", "</x:S"), 'xmlns:x="urn:x"'), "neither SOPNode"),
    "two nodes": (cc(BOTH + BOTH), "more than one SOPNode or SatNode"),
    "two ids": (ccc(correction("a"), correction("b"), correction("a")), "the id 'a' occurs twice"),
    "two ids of decisions": (decisions(correction("a"), correction("a")), "the id 'a' occurs twice"),
    "long id": (cc(attributes=f'id="{"a" * 1025}"'), "an id is longer than 1,024"),
    "empty collection": (ccc(), "it has no ColorCorrection"),
    "refers to nothing": (
        decisions('<MediaRef ref="a"/><ColorCorrectionRef ref="b"/>'),
        "'b', line 1, refers to nothing",
    ),
    "refers for nothing": (decisions(correction("b"), '<ColorCorrectionRef ref="b"/>'), "has no MediaRef"),
    "no decision": (decisions("<Description>x</Description>"), "has 0 corrections"),
    "two decisions": (decisions(correction("a") + correction("b")), "has 2 corrections"),
    "media of nothing": (decisions(f"<MediaRef/>{correction('a')}"), "a MediaRef has no ref"),
    "long media": (decisions(f'<MediaRef ref="{"a" * 4097}"/>{correction("a")}'), "ref of a MediaRef is longer"),
    "prefix of nothing": (cc(f"<x:Note/>{BOTH}"), "not XML: the prefix 'x' has no namespace, line 1"),
    "many prefixes": (
        cc(attributes=" ".join(f'xmlns:a{n}="urn:a"' for n in range(65))),
        "more than 64 namespace prefixes",
    ),
    "other root": (b"<ProcessList/>", "its root is ProcessList; expected ColorCorrection"),
    "other namespace": (cc(space=' xmlns="urn:ASC:CDL:v9"'), "its namespace 'urn:ASC:CDL:v9' is not that of ASC CDL"),
    "no XML": (b"quay_02 1 1 1", "not XML: syntax error, line 1"),
    "JSON": (b'{"poise": 1}', "not XML"),
    "cut short": (cc()[:-9], "not XML: "),
    "two roots": (cc() + cc(), "not XML: junk after document element"),
    "unknown encoding": (b'<?xml version="1.0" encoding="quay"?>' + cc(), "encoding"),
    "no text": (b'<?xml version="1.0" encoding="hex"?>' + cc(), "encoding"),
    "a bomb": (
        b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;">]>' + cc(f"<Description>&b;</Description>{BOTH}"),
        "document type (DTD)",
    ),
    "a file": (b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + cc(f"<D>&a;</D>{BOTH}"), "document type"),
    "the network": (b'<!DOCTYPE x SYSTEM "http://127.0.0.1:9/x.dtd">' + cc(), "document type (DTD)"),
    "entity of nothing": (cc(f"<D>&a;</D>{BOTH}"), "not XML: undefined entity"),
    "deep": (cc("<a>" * 100 + "</a>" * 100), "64 levels deep, over the limit"),
    "very deep": (b"<a>" * 100_000, "64 levels deep"),
    "large": (cc() + b" " * (16 * 2**20), "larger than 16 MB"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_wrong_is_told_in_one_line(tmp_path: Path, name: str) -> None:
    content, reason = BAD[name]
    file = tmp_path / "quay_02.cc"
    file.write_bytes(content)
    with pytest.raises(CdlError) as fault:
        read(file)
    told = str(fault.value)
    assert told.startswith(f"{file}: ")
    assert reason in told
    assert told.isprintable()
    assert len(told) < 300 + len(str(file))


def test_what_is_no_file_is_told(tmp_path: Path) -> None:
    pipe, empty = tmp_path / "pipe.cc", tmp_path / "empty.cc"
    os.mkfifo(pipe)
    empty.write_bytes(b"\n")
    folder, gone = "this is a folder; name", "no such"
    reasons = {pipe: "not a regular file", empty: "empty", tmp_path: folder, tmp_path / "no.cc": gone}
    for path, reason in reasons.items():
        with pytest.raises(CdlError, match=reason):
            read(path)


def test_as_many_as_the_limit_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.modules[entries.__module__], "MOST_ENTRIES", 50)
    names = [f"quay_{number}" for number in range(51)]
    for form in (ccc, decisions):
        assert len(entries(form(*map(correction, names[:50])))) == 50
        with pytest.raises(PoiseError, match="it has 51 corrections, over the limit of 50; split the file"):
            entries(form(*map(correction, names)))


def test_a_fault_stays_on_its_line() -> None:
    with pytest.raises(PoiseError) as fault:
        entries(ccc(correction("quay\x9b[2J"), correction("quay\x9b[2J")))
    assert "the id 'quay\\x9b[2J' occurs twice" in str(fault.value)


def test_a_long_namespace_is_kept_once() -> None:
    content = cc("<x:a x:b=''/>" * 2000 + BOTH, f'xmlns:x="{"u" * 100_000}"')
    tracemalloc.start()
    try:
        assert entries(content)[0].cdl == FULL
        assert tracemalloc.get_traced_memory()[1] < 10 * len(content)
    finally:
        tracemalloc.stop()


def test_elements_are_counted_while_they_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(xml, "MOST_NODES", 1000)
    with pytest.raises(PoiseError, match="more than 1,000 elements"):
        entries(cc("<a/>" * 1001))
