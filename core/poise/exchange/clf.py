"""Writes the Common LUT Format: exactly the operations that `apply` runs, written by OpenColorIO.

OpenColorIO writes tables with eight digits and matrices with fifteen, which does not represent every float. The numbers
are replaced by ones with enough digits to read back the same float, so that readers run the same operations.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import PyOpenColorIO as ocio

from poise.chain.stage import Linear
from poise.correction.model import Correction, Encoding
from poise.engine import operations
from poise.engine.fold import Operation, Table
from poise.engine.processor import BIT_DEPTHS, raw_config, transform
from poise.errors import one_line
from poise.frames.frame import Depth

FORMAT = "Academy/ASC Common LUT Format"
FILE_DEPTHS = {
    Depth.U8: "8i",
    Depth.U10: "10i",
    Depth.U12: "12i",
    Depth.U14: "32f",
    Depth.U16: "16i",
    Depth.HALF: "16f",
    Depth.FLOAT: "32f",
}
"""CLF bit depths. There is none for 14 bit: such a file takes codes as shares of full scale."""


@dataclass(frozen=True)
class About:
    """The metadata of a file.

    Attributes:
        id: unique, an XML name.
        name: the name of the shot.
        release: the program that wrote it, with its version.
        lines: further text, one Description each.
    """

    id: str
    name: str
    release: str
    lines: Sequence[str] = ()


def clf(correction: Correction, encoding: Encoding, depth: Depth, about: About) -> bytes:
    """Write a correction without its mattes in the Common LUT Format (SMPTE ST 2136-1, Academy S-2014-006).

    Applied by OpenColorIO to a picture of this depth, it gives the values that `apply` writes. For integers it begins
    and ends with a Range that names their depth; the last one clamps.

    Raises:
        PoiseError: as `compile_engine`.

    Example:
        clf(Correction(saturation=1.1), CODED, Depth.U16, About("quay_02", "quay_02.tif", "poise 0.1.0"))
    """
    group = ocio.GroupTransform()
    metadata = group.getFormatMetadata()
    metadata.setID(about.id)
    metadata.setName(about.name)
    for line in about.lines:
        metadata.addChildElement("Description", line)
    metadata.addChildElement("InputDescriptor", described(depth, encoding, encoding.source, encoding.primaries))
    metadata.addChildElement("OutputDescriptor", described(depth, encoding, encoding.delivery, encoding.work_primaries))
    metadata.addChildElement("Info", "")
    info = next(element for element in metadata.getChildElements() if element.getElementName() == "Info")
    info.addChildElement("AppRelease", about.release)
    steps = operations(correction, encoding, depth)
    if not depth.is_float:
        group.appendTransform(_range(depth, Depth.FLOAT))
    elif not steps:
        group.appendTransform(ocio.MatrixTransform())
    for number, operation in enumerate(steps):
        group.appendTransform(_named(operation, number))
    if not depth.is_float:
        group.appendTransform(_range(Depth.FLOAT, depth))
    text = str(group.write(formatName=FORMAT, config=raw_config()))
    for number, operation in enumerate(steps):
        text = _exact(text, operation, number)
    return _float_depth(text, depth).encode()


def described(depth: Depth, encoding: Encoding, code: str, primaries: str) -> str:
    """The input or output as text: depth, range, transfer function and primaries.

    Example:
        >>> described(Depth.U10, Encoding(), "sRGB", "ITU-R BT.709")
        '10 bit, full range, sRGB, primaries ITU-R BT.709'
    """
    kind = {Depth.HALF: "half float", Depth.FLOAT: "float"}.get(depth, f"{depth.bits} bit, {encoding.range} range")
    light = "linear light" if code == "linear" else one_line(code)
    return f"{kind}, {light}, primaries {primaries}"


def _range(depth: Depth, out: Depth) -> ocio.RangeTransform:
    result = ocio.RangeTransform(0.0, 1.0, 0.0, 1.0)
    in_depth, out_depth = (Depth.FLOAT if one is Depth.U14 else one for one in (depth, out))
    result.setFileInputBitDepth(BIT_DEPTHS[in_depth])
    result.setFileOutputBitDepth(BIT_DEPTHS[out_depth])
    return result


def _named(operation: Operation, number: int) -> ocio.Transform:
    result = transform(operation)
    if isinstance(operation, Table | Linear):
        result.getFormatMetadata().setID(_name(number))
    return result


def _name(number: int) -> str:
    return f"operation-{number + 1}"


def _exact(text: str, operation: Operation, number: int) -> str:
    """The text with the array of one operation written with all digits."""
    if isinstance(operation, Table):
        values = operation.values
        if (values == values[:, :1]).all():
            values = values[:, :1]
        form, dim = "%.9g", f"{len(values)} {values.shape[1]}"
    elif isinstance(operation, Linear):
        values = np.column_stack([operation.matrix, operation.offset])
        form, dim = "%.17g", "3 4"
    else:
        return text
    lines = "\n".join([" ".join([form] * values.shape[1])] * len(values)) % tuple(values.ravel().tolist())
    found = re.search(rf'<(\w+) id="{_name(number)}".*?(<Array dim=".*?</Array>)', text, re.DOTALL)
    assert found
    start, end = found.span(2)
    return f'{text[:start]}<Array dim="{dim}">\n{lines}\n        </Array>{text[end:]}'


def _float_depth(text: str, depth: Depth) -> str:
    """The text with the bit depth of half floats at both ends, if that is the depth; no value changes."""
    if depth is not Depth.HALF:
        return text
    head, _, rest = text.partition('inBitDepth="32f"')
    before, _, tail = rest.rpartition('outBitDepth="32f"')
    return f'{head}inBitDepth="16f"{before}outBitDepth="16f"{tail}'
