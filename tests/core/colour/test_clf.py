"""What a CLF may hold: good ones by the formulas of the standard and OpenColorIO's own reader, bad ones in one line."""

import re
import time
from importlib.metadata import files
from pathlib import Path

import numpy as np
import PyOpenColorIO as ocio
import pytest

from poise.colour.clf import parse
from poise.colour.clf_validate import MOST_BYTES, validate
from poise.errors import PoiseError

LUT = '<LUT1D inBitDepth="32f" outBitDepth="32f"><Array dim="2 1">0 2</Array></LUT1D>'
BOMB = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
VALUES = np.random.default_rng(4).random((100, 3))


def file(nodes: str, head: str = 'id="camera_a" compCLFversion="3.0"', before: str = "") -> bytes:
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{before}<ProcessList {head}>{nodes}</ProcessList>'.encode()


BAD = {
    "nothing": (b"", "it is empty; copy it again"),
    "white": (b"  \n", "it is empty"),
    "no XML": (b"LUT_1D_SIZE 2\n0 0 0\n1 1 1\n", "it is not well-formed XML: .*, line 1"),
    "cut short": (file(LUT)[:-30], "it is not well-formed XML: .*"),
    "zeros": (bytes(4000), "it is not (well-formed|readable) XML"),
    "another format": (b"<ColorCorrection id='a'/>", "its root is 'ColorCorrection', so it is not"),
    "no version": (file(LUT, 'id="a"'), "it has no compCLFversion"),
    "a version to come": (file(LUT, 'id="a" compCLFversion="9.0"'), "Unsupported transform file version"),
    "no nodes": (file("<Description>fog</Description>"), "it holds no process node"),
    "unknown node": (file(LUT + '<Sparkle inBitDepth="32f" outBitDepth="32f"/>'), "the node 'Sparkle' is not one of"),
    "of another format": (file('<Gamma style="basicFwd"><GammaParams gamma="2"/></Gamma>'), "the node 'Gamma' is not"),
    "unknown part": (file(LUT.replace("<Array", "<Glow/><Array")), "its node LUT1D holds 'Glow'"),
    "what later readers pass over": (
        file(LUT.replace("<Array", '<IndexMap dim="2">0.2@0 0.8@1</IndexMap><Array')),
        "its node LUT1D holds 'IndexMap'",
    ),
    "control characters": (file("<a.\u0301b/>"), r"the node '.*' is not one of"),
    "unknown attribute": (
        file(LUT.replace("<LUT1D", "<LUT1D halfdomain='true'")),
        "attribute 'halfdomain', which this",
    ),
    "reference": (file('<Reference path="/etc/passwd"/>'), "it refers to another file; put the nodes"),
    "bomb": (file(f"<Info>&e9;</Info>{LUT}", before=f'<!DOCTYPE b [<!ENTITY e0 "x">{BOMB}]>'), "a document type"),
    "outside entity": (file(LUT, before='<!DOCTYPE b [<!ENTITY x SYSTEM "file:///etc/passwd">]>'), "a document type"),
    "too few numbers": (file(LUT.replace("2 1", "3 1")), "Expected 3x1 Array values, found 2"),
    "a size of none": (file(LUT.replace("2 1", "-2 1")), "dim='-2 1', which is not a size"),
    "a size in words": (file(LUT.replace("2 1", "many")), "dim='many', which is not a size"),
    "a long table": (file(LUT.replace("2 1", "400000000 3")), "table of 400000000 entries is over the limit of 65536"),
    "a large cube": (
        file('<LUT3D><Array dim="129 129 129 3">0</Array></LUT3D>'),
        "a cube of 129 points a side is over",
    ),
    "many cubes": (file('<LUT3D><Array dim="128 128 128 3">0</Array></LUT3D>' * 2), "hold over 6,291,456 numbers"),
    "many nodes": (file(LUT * 70), "more than 64 process nodes"),
    "many elements": (file("<Info>" + "<a/>" * 5000 + "</Info>" + LUT), "more than 4,096 elements"),
    "deep": (file("<Info>" + "<a>" * 20 + "</a>" * 20 + "</Info>" + LUT), "nests them deeper than 12 levels"),
    "no number": (file(LUT.replace(">0 2<", ">0 sea<")), "export it again"),
    "infinite": (file(LUT.replace(">0 2<", ">0 inf<")), "values that are not finite"),
    "depths that don't fit": (file(LUT + LUT.replace('inBitDepth="32f"', 'inBitDepth="10i"')), "Bit-depth mismatch"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_refused_in_one_line(name: str, tmp_path: Path) -> None:
    content, said = BAD[name]
    with pytest.raises(PoiseError) as fault:
        parse(content)
    told = str(fault.value)
    assert re.search(said, told), told
    assert told.isprintable()
    assert len(told) < 260
    assert "/tmp" not in told


def test_a_file_over_the_limit_is_refused_before_it_is_read() -> None:
    began = time.perf_counter()
    with pytest.raises(PoiseError, match="over the limit of 64 MB"):
        validate(b" " * (MOST_BYTES + 1))
    assert time.perf_counter() - began < 1


def test_numbers_of_each_node_by_the_formulas_of_the_standard() -> None:
    # Academy S-2014-006: Range, Matrix, LUT1D, Exponent (basicFwd, moncurveFwd), Log (antiLog10), ASC_CDL (Fwd)
    depths = 'inBitDepth="32f" outBitDepth="32f"'
    ten = '<Range inBitDepth="10i" outBitDepth="32f"><minInValue>64</minInValue><maxInValue>940</maxInValue>'
    monitor = f'<Exponent {depths} style="moncurveFwd"><ExponentParams exponent="2.4" offset="0.055"/></Exponent>'
    cdl = (
        f'<ASC_CDL {depths} style="Fwd"><SOPNode><Slope>1.1 1 0.9</Slope><Offset>0.02 -0.03 0.05</Offset>'
        "<Power>0.9 1 1.2</Power></SOPNode><SatNode><Saturation>1.25</Saturation></SatNode></ASC_CDL>"
    )
    srgb = np.where(VALUES <= 0.039286, VALUES / 12.923, ((VALUES + 0.055) / 1.055) ** 2.4)
    for nodes, exact in (
        (ten + "<minOutValue>0</minOutValue><maxOutValue>1</maxOutValue></Range>", (VALUES * 1023 - 64) / 876),
        (f'<Matrix {depths}><Array dim="3 4">0.8 0.2 0 0.1 0 1 0 0 0 0 1 -0.1</Array></Matrix>', None),
        (LUT, VALUES * 2),
        (f'<Exponent {depths} style="basicFwd"><ExponentParams exponent="2.4"/></Exponent>', VALUES**2.4),
        (monitor, srgb),
        (f'<Log {depths} style="antiLog10"/>', 10**VALUES),
    ):
        made = parse(file(nodes))
        if exact is None:
            exact = VALUES @ np.array([[0.8, 0.2, 0], [0, 1, 0], [0, 0, 1]]).T + [0.1, 0, -0.1]
            assert not made.separable
        elif nodes.startswith("<Range"):
            exact = exact.clip(0, 1)
        assert np.abs(made(VALUES) - exact).max() < 2e-5, nodes
    # ASC CDL v1.2 with the clamps of its style, in the published order
    low = np.clip(np.clip(VALUES * [1.1, 1, 0.9] + [0.02, -0.03, 0.05], 0, 1) ** [0.9, 1, 1.2], 0, 1)
    luma = low @ [0.2126, 0.7152, 0.0722]
    exact = np.clip(luma[:, None] + 1.25 * (low - luma[:, None]), 0, 1)
    assert np.abs(parse(file(cdl))(VALUES) - exact).max() < 2e-5


def test_two_files_of_one_size_are_not_confused() -> None:
    first, second = parse(file(LUT)), parse(file(LUT.replace(">0 2<", ">0 1<")))
    assert np.allclose(first(VALUES), 2 * second(VALUES))


def test_any_shape_and_no_pixels_at_all() -> None:
    made = parse(file(LUT))
    assert made(VALUES.reshape(5, 20, 3)).shape == (5, 20, 3)
    assert made(np.zeros((0, 3))).shape == (0, 3)


def test_a_file_that_comes_with_opencolorio() -> None:
    found = [path for path in files("opencolorio") or [] if path.name == "example_referenced_lut.clf"]
    if not found:
        pytest.skip("this build of OpenColorIO comes without examples")
    path = found[0].locate()
    made = parse(Path(path).read_bytes())
    processor = ocio.Config.CreateRaw().getProcessor(ocio.FileTransform(str(path)))
    cpu = processor.getOptimizedCPUProcessor(ocio.OPTIMIZATION_LOSSLESS)
    for value in VALUES[:20]:
        assert made(value).tolist() == pytest.approx(cpu.applyRGB(value.tolist()), abs=1e-6)
