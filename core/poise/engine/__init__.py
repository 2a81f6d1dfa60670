"""The engine: corrections compiled to tables and matrices, and the float64 reference they are tested against.

The modules for mattes are imported when first used, since OpenCV is slow to load.
"""

from typing import TYPE_CHECKING

from poise.engine.engine import COARSE, FINE, Engine, compile_engine, operations
from poise.engine.reference import reference, rounded

if TYPE_CHECKING:
    from poise.engine.matte_apply import Selected
    from poise.engine.matte_compile import Keyer, matte_of

__all__ = [
    "COARSE",
    "FINE",
    "Engine",
    "Keyer",
    "Selected",
    "compile_engine",
    "matte_of",
    "operations",
    "reference",
    "rounded",
]


def __getattr__(name: str) -> object:
    if name == "Selected":
        from poise.engine import matte_apply

        return matte_apply.Selected
    if name in ("Keyer", "matte_of"):
        from poise.engine import matte_compile

        return getattr(matte_compile, name)
    raise AttributeError(name)
