"""Files in the Common LUT Format do what apply does: run by OpenColorIO, and read by colour-science's own reader."""

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PyOpenColorIO import (
    OPTIMIZATION_DEFAULT,
    OPTIMIZATION_LOSSLESS,
    PROCESSOR_CACHE_OFF,
    ClearAllCaches,
    Config,
    FileTransform,
    OptimizationFlags,
    PackedImageDesc,
)
from skimage import data
from thorough import many

from poise.correction import CODED, LINEAR, Balance, Correction, Curves, Encoding, Levels, Light, Tone
from poise.engine import compile_engine
from poise.engine.processor import BIT_DEPTHS
from poise.exchange.clf import FILE_DEPTHS, About, clf
from poise.frames.frame import Depth

ABOUT = About("quay_02", "quay_02.tif", "poise 0.1.0", ("shot quay_02.tif", "<fog> & spray"))
PHOTOGRAPHS = tuple(photo()[:: many(3, 1), :: many(3, 1)] for photo in (data.astronaut, data.coffee, data.chelsea))
LOG = Encoding(source="ACEScct", primaries="ACEScg", delivery_primaries="ITU-R BT.709")


def codes(photograph: np.ndarray, depth: Depth) -> np.ndarray:
    """A photograph at a depth, with noise in the bits that 8 bits don't have."""
    values = (photograph + np.random.default_rng(3).random(photograph.shape)) / 256
    if depth.is_float:
        return np.asarray(values**2.2 * 2 - 0.02, depth.dtype)
    return np.asarray(np.floor(values * (depth.maximum + 1)), depth.dtype)


def random_correction(rng: np.random.Generator) -> Correction:
    """A third of them levels and tone alone, so that all channels have one table."""
    u = rng.uniform
    levels, tone = Levels(u(0, 0.1), u(0.85, 1.1), u(0.8, 1.3)), Tone(u(-0.6, 0.6), u(-0.6, 0.6))
    if rng.random() < 1 / 3:
        return Correction(levels=levels, tone=tone)
    return Correction(
        light=Light(u(-1, 1), u(-60, 60), u(-15, 15), tuple(u(-0.05, 0.15, 3)), u()) if rng.random() < 0.5 else Light(),
        balance=Balance(tuple(u(0.7, 1.4, 3)), tuple(u(-0.1, 0.1, 3)), tuple(u(0.6, 1.6, 3))),
        levels=levels,
        tone=tone,
        curves=Curves(red=((0.0, 0.0), (0.5, u(0.4, 0.6)), (1.0, 1.0))) if rng.random() < 0.5 else Curves(),
        saturation=u(0.5, 1.5),
    )


class Received:
    """A file as whoever receives it runs it, by OpenColorIO alone."""

    def __init__(self, path: Path, content: bytes, depth: Depth, flags: OptimizationFlags = OPTIMIZATION_LOSSLESS):
        path.write_bytes(content)
        config = Config.CreateRaw()
        config.setProcessorCacheFlags(PROCESSOR_CACHE_OFF)
        ClearAllCaches()  # it remembers files by their path
        self.bits = BIT_DEPTHS[depth]
        processor = config.getProcessor(FileTransform(str(path)))
        self.processor = processor.getOptimizedCPUProcessor(self.bits, self.bits, flags)

    def apply(self, pixels: np.ndarray) -> np.ndarray:
        result = np.empty_like(pixels)
        (height, width, _), size = pixels.shape, pixels.itemsize
        layout = (width, height, 3, self.bits, size, size * 3, size * 3 * width)
        self.processor.apply(PackedImageDesc(pixels, *layout), PackedImageDesc(result, *layout))
        return result


@pytest.mark.parametrize(("depth", "usual"), [(Depth.U8, 4), (Depth.U16, 2), (Depth.U10, 1), (Depth.U12, 1)])
def test_bit_for_bit_what_apply_gives(tmp_path: Path, depth: Depth, usual: int) -> None:
    rng = np.random.default_rng(21)
    for number in range(many(usual, 100)):
        correction = random_correction(rng)
        encoding = (CODED, CODED, LOG, Encoding(range="narrow"))[number % 4]
        content = clf(correction, encoding, depth, ABOUT)
        exactly = Received(tmp_path / "quay.clf", content, depth)
        as_usual = Received(tmp_path / "quay.clf", content, depth, OPTIMIZATION_DEFAULT)
        ours = compile_engine(correction, encoding, depth)
        for photograph in PHOTOGRAPHS:
            pixels = codes(photograph, depth)
            made = ours.apply(pixels)
            assert np.array_equal(exactly.apply(pixels), made), (correction, encoding)
            assert np.array_equal(as_usual.apply(pixels), made), (correction, encoding)


@pytest.mark.parametrize(("depth", "most"), [(Depth.HALF, 2**-9), (Depth.FLOAT, 3e-3)])
def test_float_the_same_but_for_quick_mathematics(tmp_path: Path, depth: Depth, most: float) -> None:
    """Halves are written from tables that fit the picture's range, within a step of those in the file."""
    rng = np.random.default_rng(22)
    for number in range(many(2, 40)):
        correction, encoding = random_correction(rng), (LINEAR, CODED, LOG)[number % 3]
        content = clf(correction, encoding, depth, ABOUT)
        pixels = codes(PHOTOGRAPHS[number % 3], depth)
        engine = compile_engine(correction, encoding, depth)
        ours, written = replace(engine, within=None).apply(pixels), engine.apply(pixels)
        assert np.array_equal(Received(tmp_path / "quay.clf", content, depth).apply(pixels), ours)
        if depth is Depth.FLOAT:
            assert np.array_equal(written, ours)
        same = np.isfinite(ours) & np.isfinite(written)
        step = np.maximum(np.abs(ours[same].astype(float)) * 2.0**-10, 4e-6)
        assert (np.abs(written[same].astype(float) - ours[same].astype(float)) <= step).all()
        usual = Received(tmp_path / "quay.clf", content, depth, OPTIMIZATION_DEFAULT).apply(pixels)
        there = np.isfinite(ours)  # brighter than a half float holds, it is infinite in both
        assert np.array_equal(usual[~there], ours[~there])
        wanted = ours[there].astype(float)
        off = np.abs(usual[there] - wanted) / np.maximum(np.abs(wanted), 1)
        assert off.max() <= most, (correction, encoding)  # it merges and reorders; over 40 corrections, up to 2.7e-3


@pytest.mark.parametrize("depth", list(Depth))
def test_a_neutral_shot_gives_a_file_that_changes_nothing(tmp_path: Path, depth: Depth) -> None:
    pixels = codes(PHOTOGRAPHS[0], depth)
    received = Received(tmp_path / "quay.clf", clf(Correction(), CODED, depth, ABOUT), depth)
    assert np.array_equal(received.apply(pixels), pixels)


def test_a_light_stage_ahead_of_any_table(tmp_path: Path) -> None:
    linear = Encoding(source="linear", delivery="sRGB")
    pixels = codes(PHOTOGRAPHS[1], Depth.U8)
    warm = Correction(light=Light(0.5, 20))
    theirs = Received(tmp_path / "quay.clf", clf(warm, linear, Depth.U8, ABOUT), Depth.U8)
    assert np.array_equal(theirs.apply(pixels), compile_engine(warm, linear, Depth.U8).apply(pixels))


def evaluated(nodes: list, values: np.ndarray) -> np.ndarray:
    """Values of 0..1 through nodes that colour-science read, in float64, as the standard defines each."""
    for node in nodes:
        array = getattr(node, "array", None)
        if array is None:
            into, out = node.in_bit_depth.scale_factor(), node.out_bit_depth.scale_factor()
            assert (node.min_in_value / into, node.max_in_value / into) == (0, 1)
            assert (node.min_out_value / out, node.max_out_value / out) == (0, 1)
            values = np.clip(values, 0, 1)
            continue
        numbers = np.reshape(array.values, array.dim[:2])
        if type(node).__name__ == "Matrix":
            values = values @ numbers[:, :3].T + numbers[:, 3]
        else:
            table = np.broadcast_to(numbers, (len(numbers), 3))
            domain = np.linspace(0, 1, len(table))
            if node.half_domain:
                halves = np.arange(65536, dtype=np.uint16).view(np.float16).astype(float)
                domain, places = np.unique(halves[np.isfinite(halves)], return_index=True)
                table = table[np.isfinite(halves)][places]
            values = np.stack([np.interp(values[:, c], domain, table[:, c]) for c in range(3)], axis=-1)
    return values


def test_read_by_colour_science() -> None:
    colour_clf_io = pytest.importorskip("colour_clf_io")
    rng = np.random.default_rng(23)
    for _ in range(6):
        correction = random_correction(rng)
        written = clf(correction, CODED, Depth.U8, ABOUT)
        # its reader knows the Academy's name for the format, OpenColorIO writes that of SMPTE
        known = re.sub(rb'xmlns="[^"]*"', b'xmlns="urn:AMPAS:CLF:v3.0"', written)
        found = colour_clf_io.read_clf(known)
        assert found is not None
        assert (found.id, found.name) == ("quay_02", "quay_02.tif")
        assert found.description == ["shot quay_02.tif", "<fog> & spray"]
        assert found.input_descriptor == "8 bit, full range, sRGB, primaries ITU-R BT.709"
        assert found.process_nodes[0].in_bit_depth.value == found.process_nodes[-1].out_bit_depth.value == "8i"
        pixels = rng.integers(0, 256, (1, 500, 3)).astype(np.uint8)
        theirs = np.floor(evaluated(found.process_nodes, pixels[0] / 255) * 255 + 0.5)
        ours = compile_engine(correction, CODED, Depth.U8).apply(pixels)[0]
        assert np.abs(theirs - ours).max() <= 1
        assert np.mean(theirs != ours) < 0.002


NODES = {"LUT1D", "LUT3D", "Matrix", "Range", "Log", "Exponent", "ASC_CDL"}
"""The process nodes of Academy S-2014-006, version 3.0."""


@pytest.mark.parametrize("depth", list(Depth))
def test_the_structure_that_the_standard_asks_for(depth: Depth) -> None:
    # no XSD is at hand here: S-2014-006 gives attributes and order of elements in words
    import xml.etree.ElementTree as ET

    correction = Correction(light=Light(0.5, 10), tone=Tone(0.3), saturation=1.2)
    root = ET.fromstring(clf(correction, CODED, depth, ABOUT))
    space = root.tag.removesuffix("ProcessList")
    assert root.get("id")
    assert float(root.get("compCLFversion", "0")) >= 3
    kinds = [element.tag.removeprefix(space) for element in root]
    head = ["Description", "Description", "InputDescriptor", "OutputDescriptor", "Info"]
    assert kinds[:5] == head
    assert root.findtext(f"{space}Info/{space}AppRelease") == "poise 0.1.0"
    assert set(kinds[5:]) <= NODES
    nodes = list(root)[5:]
    for before, after in pairwise(nodes):
        assert before.get("outBitDepth") == after.get("inBitDepth")
    assert nodes[0].get("inBitDepth") == nodes[-1].get("outBitDepth") == FILE_DEPTHS[depth]
    for element in nodes:
        array = element.find(f"{space}Array")
        if array is not None:
            dim = [int(number) for number in array.get("dim", "").split()]
            assert len((array.text or "").split()) == dim[0] * dim[1]
