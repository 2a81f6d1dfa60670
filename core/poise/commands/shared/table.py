"""Tables of text with aligned columns."""

from collections.abc import Sequence


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows below a header; the first column is aligned left, all others right.

    Example:
        >>> print(table(["file", "black"], [["quay.tif", "3.1"]]))
        file      black
        quay.tif    3.1
    """
    widths = [max(len(cell) for cell in column) for column in zip(head, *rows, strict=True)]
    lines = []
    for row in (head, *rows):
        cells = [cell.rjust(width) for cell, width in zip(row, widths, strict=True)]
        cells[0] = row[0].ljust(widths[0])
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def level(value: float) -> str:
    """A level or share in per cent, to one decimal."""
    return f"{value + 0.0:.1f}"
