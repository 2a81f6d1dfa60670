"""ASC CDL v1.2: ten numbers per shot, in `.cc`, `.ccc` and `.cdl` files."""

from poise.exchange.cdl.code import code_descriptions, mismatched_code
from poise.exchange.cdl.fit import Residual, fit
from poise.exchange.cdl.fold import fold, parts_beyond_cdl
from poise.exchange.cdl.model import Cdl, Entry
from poise.exchange.cdl.read import CdlError, read
from poise.exchange.cdl.write import cc, ccc, decision_list

__all__ = [
    "Cdl",
    "CdlError",
    "Entry",
    "Residual",
    "cc",
    "ccc",
    "code_descriptions",
    "decision_list",
    "fit",
    "fold",
    "mismatched_code",
    "parts_beyond_cdl",
    "read",
]
