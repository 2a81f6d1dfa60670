"""The sheet as HTML, by html5lib's parser: what is escaped, what it may do, and what stands in it."""

import base64
import hashlib
import json
import re
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest
import xxhash
from harbour_reel import BROKEN, HOSTILE, NOTE, poise

ELEMENTS = {
    *("html", "head", "meta", "title", "link", "style", "body", "header", "main", "footer", "section", "article"),
    *("h1", "h2", "h3", "h4", "p", "span", "b", "i", "em", "strong", "small", "div", "dl", "dt", "dd", "ul", "li"),
    *("table", "caption", "thead", "tbody", "tr", "th", "td", "figure", "figcaption", "img", "script"),
    *("form", "label", "input", "select", "option", "output", "svg", "path", "text", "rect", "a"),
}


@pytest.fixture(scope="module")
def tree(sheet: Path) -> Element:
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    found: Element = parser.parse(sheet.read_bytes())
    assert [fault for fault in parser.errors if "doctype" not in str(fault[1])] == []
    return found


def text(element: Element | None) -> str:
    assert element is not None
    return re.sub(r"\s+", " ", "".join(element.itertext())).strip()


def shots(tree: Element) -> dict[str, Element]:
    return {text(one.find("header/h3")).lstrip("0123456789"): one for one in tree.iter("article")}


def local(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]


def test_nothing_of_a_name_or_note_is_markup(tree: Element) -> None:
    assert {local(one) for one in tree.iter() if isinstance(one.tag, str)} <= ELEMENTS
    names = [name for one in tree.iter() if isinstance(one.tag, str) for name in one.attrib]
    assert not [name for name in names if name.lower().startswith("on") or name == "style"]
    found = shots(tree)
    assert set(found) == {
        *(f"quay_{number}.png" for number in range(1, 7)),
        *("ferry.####.png", "dot.png", "fog.png", "cut.png", HOSTILE, "line\\nbreak\\x07.png", "caf\\udce9.png"),
    }
    note = text(found["quay_2.png"].find(".//div[@class='note']/dd"))
    assert note == re.sub(r"\s+", " ", NOTE.replace("\u2028", "\n"))
    assert "<hull>" in text(found[HOSTILE].find("dl"))
    assert text(tree.find(".//h1")) == "harbour <day>"
    assert BROKEN.replace("\n", "\\n").replace("\x07", "\\x07") in found


def test_it_asks_for_nothing_and_runs_only_what_it_was_written_with(tree: Element) -> None:
    for one in tree.iter():
        for name in ("src", "href", "action", "srcset", "data", "poster"):
            target = one.attrib.get(name, "data:")
            assert target.startswith(("data:", "#")), target
    (policy,) = [m.get("content", "") for m in tree.iter("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    (style,) = tree.iter("style")
    record, script = tree.iter("script")
    assert record.get("type") == "application/json"
    for element, rule in ((style, "style-src"), (script, "script-src")):
        # Content Security Policy Level 3, 2.3.1: the hash of the element's text, in base64
        content = "".join(element.itertext())
        assert rules[rule] == f"'sha256-{base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()}'"
        assert "url(" not in content
        assert "@import" not in content


def test_the_record_in_it_is_that_of_json_and_its_hashes_are_those_of_the_files(
    tree: Element, sheet: Path, harbour: Path
) -> None:
    embedded = json.loads("".join(next(tree.iter("script")).itertext()))
    printed = json.loads(poise("report", harbour, "--json", "--workers", 1, "--frames", "all").stdout)
    assert {**embedded, "at": ""} == {**printed, "at": ""}
    files = {entry["source"]: entry for entry in embedded["files"]}
    assert len(files) == 14  # twelve stills and sequences that can be read, one of three frames
    for name in ("quay_1.png", "ferry.1002.png", HOSTILE, BROKEN):
        assert files[name]["hash"] == xxhash.xxh3_128_hexdigest((harbour / name).read_bytes())
    assert "decision" in files["quay_1.png"]
    assert "decision" not in files["quay_4.png"]
    one = next(shot for shot in embedded["shots"] if shot["file"].endswith("quay_1.png"))
    measured = {
        side: json.loads(poise("measure", harbour / "quay_1.png", "--json", *options).stdout)[0]["readings"]
        for side, options in (("before", ()), ("after", ("--corrected",)))
    }
    assert one["readings"] == measured


def test_each_shot_tells_its_state_its_trouble_and_its_correction(tree: Element) -> None:
    found = shots(tree)
    assert "the file is cut short; copy it again" in text(found["cut.png"])
    assert not list(found["cut.png"].iter("img"))
    broken = found["quay_4.png"]
    assert "its sidecar can't be used: not valid JSON" in text(broken)
    assert (broken.get("data-state"), len(list(broken.iter("img")))) == ("unknown", 3)
    assert "held: apply passes it over" in text(found["quay_2.png"])
    assert found["quay_3.png"].get("data-state") == "skipped"
    assert "nothing decided: it has no sidecar" in text(found["quay_5.png"])
    assert "a greyscale picture takes no warmth" in text(found["fog.png"])
    assert len(list(found["fog.png"].iter("img"))) == 3  # as it is, without what it can't take
    assert "greyscale" in text(found["fog.png"].find("header"))
    assert "frame 1001 of 1001\u20131003 (3 frames)" in text(found["ferry.####.png"].find("header"))
    assert "no drift over 3 frames" in text(found["ferry.####.png"])
    told = text(found["quay_1.png"].find("dl"))
    for said in ("warmth \u221220 mired", "black point 0.020", "white point 0.400", "saturation \u00d7 1.100"):
        assert said in told


def test_figures_and_alternatives_are_the_readings_of_measure(tree: Element, harbour: Path) -> None:
    article = shots(tree)["quay_1.png"]
    (measured,) = json.loads(poise("measure", harbour / "quay_1.png", "--json", "--corrected").stdout)
    readings = measured["readings"]
    rows = {
        text(row.find("th")): [text(cell) for cell in row.iter("td")]
        for row in article.findall("section")[1].iter("tr")
    }
    for name, part, spread in (("white", "white", "top"), ("middle", "median", "middle"), ("black", "black", "bottom")):
        values = [readings[channel][part] for channel in ("luma", "red", "green", "blue")]
        assert rows[name] == [f"{value:.1f}" for value in (*values, readings["spread"][spread])]
    pictures = [image.get("alt", "") for image in article.iter("img")]
    assert len(pictures) == 6
    assert pictures[0] == "quay_1.png, before"
    luma = readings["luma"]
    assert pictures[4] == (
        f"Waveform of quay_1.png, after: luma black {luma['black']:.1f}, middle {luma['median']:.1f}, "
        f"white {luma['white']:.1f} per cent"
    )


def test_it_states_its_size_and_counts(tree: Element, sheet: Path) -> None:
    head = text(tree.find(".//header"))
    assert f"{sheet.stat().st_size / 1e3:.1f} kB" in head
    for count in ("13 shots", "7 new", "3 balanced", "1 held", "1 skipped", "1 unknown"):
        assert count in head, head
    assert "Use the pictures to recognise shots, and the scopes and readings to judge them" in head
