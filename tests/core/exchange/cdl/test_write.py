"""Written files: read back by this reader and by OpenColorIO to the very same numbers."""

import random
from pathlib import Path
from xml.etree import ElementTree as tree

import PyOpenColorIO as ocio
import pytest

from poise.correction import Encoding
from poise.exchange.cdl import Cdl, Entry, cc, ccc, code_descriptions, decision_list, mismatched_code
from poise.exchange.cdl.read import entries
from poise.exchange.seal import unchanged

ODD = Cdl((1.1, 0.1 + 0.2, 1e-7), (-1e-5, 0.0, 3.0000000000000004), (0.9, 1e16, 5e-324), 1.25)
TOLD = ("poise 0.1.0", "exact: balance, levels & <saturation>\n\x1b[2J \udc80")


def random_cdl(chance: random.Random) -> Cdl:
    def triple(low: float, high: float) -> tuple[float, float, float]:
        return chance.uniform(low, high), chance.uniform(low, high), chance.uniform(low, high)

    return Cdl(triple(0, 4), triple(-1, 1), triple(0.1, 4), chance.uniform(0, 4))


def test_numbers_come_back_exactly(tmp_path: Path) -> None:
    chance = random.Random(3)
    cdls = [ODD, Cdl(), *(random_cdl(chance) for _ in range(50))]
    all_ = [Entry(f"quay_{number}", cdl, (f"quay_{number}.tif",)) for number, cdl in enumerate(cdls)]
    for content in (ccc(all_, "day"), decision_list(all_, "day")):
        assert [one.cdl for one in entries(content)] == cdls
        assert b"e-" not in content.replace(b"encoding", b"")
    for one in all_:
        assert entries(cc(one))[0].cdl == one.cdl
    file = tmp_path / "day.ccc"
    file.write_bytes(ccc(all_[1:], "day"))
    ocio.ClearAllCaches()
    for one in all_[1:]:
        read = ocio.CDLTransform.CreateFromFile(str(file), one.id)
        sop = [*one.cdl.slope, *one.cdl.offset, *one.cdl.power]
        assert (read.getSOP(), read.getSat(), read.getID()) == (sop, one.cdl.saturation, one.id)


def test_words_and_media_come_back() -> None:
    one = Entry("quay_02", Cdl(), ("day/quay%202.tif",), TOLD, *code_descriptions(Encoding("ACEScct", "sRGB")))
    (found,) = entries(decision_list([one], "day"))
    assert (found.id, found.media, found.descriptions[0]) == ("quay_02", one.media, "poise 0.1.0")
    assert found.descriptions[1] == r"exact: balance, levels & <saturation>\n\x1b[2J \udc80"
    assert found.input == "code value: ACEScct; ITU-R BT.709"
    assert (
        mismatched_code(found.input, Encoding()),
        mismatched_code(found.viewing, Encoding()),
        mismatched_code("", Encoding()),
    ) == (
        "ACEScct",
        "",
        "",
    )


def test_shots_that_share_a_correction_refer_to_one() -> None:
    same, apart = Cdl(saturation=1.1), Cdl(saturation=1.2)
    all_ = [Entry(f"quay_{n}", cdl, (f"quay_{n}.tif",), TOLD[:1]) for n, cdl in enumerate((same, apart, same, same))]
    content = decision_list(all_, "day")
    assert (content.count(b"<ColorCorrection "), content.count(b'<ColorCorrectionRef ref="quay_0"')) == (2, 2)
    found = entries(content)
    assert [(one.cdl, one.media) for one in found] == [(one.cdl, one.media) for one in all_]
    assert ccc(all_, "day").count(b"<ColorCorrection ") == 4


@pytest.mark.parametrize("form", ["cc", "ccc", "cdl"])
def test_the_order_is_that_of_the_standard(form: str) -> None:
    """Element names and order: ASC CDL v1.2. Its XSD could not be had here, so the order is checked by hand."""
    one = Entry("quay_02", Cdl(), ("quay_02.tif",), TOLD, "code value: sRGB", "code value: sRGB")
    root = tree.fromstring({"cc": cc(one), "ccc": ccc([one], "day"), "cdl": decision_list([one], "day")}[form])
    space = "{urn:ASC:CDL:v1.2}"
    assert all(node.tag.startswith(space) for node in root.iter())
    names = [node.tag.removeprefix(space) for node in root.iter()]
    whole = (
        "ColorCorrection InputDescription ViewingDescription SOPNode Description Description Slope Offset Power SatNode"
    )
    above = {
        "cc": [],
        "ccc": ["ColorCorrectionCollection", "Description"],
        "cdl": ["ColorDecisionList", "Description", "ColorDecision", "MediaRef"],
    }[form]
    assert names == [*above, *whole.split(), "Saturation"]


def test_files_are_sealed() -> None:
    content = cc(Entry("quay_02", Cdl()))
    assert unchanged(content)
    assert not unchanged(content.replace(b"<Slope>1.0", b"<Slope>1.1"))
