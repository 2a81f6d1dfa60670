"""The engine: corrections compiled to tables and matrices, and the float64 reference beside them."""

from poise.engine.engine import COARSE, FINE, Engine, compile_engine, row
from poise.engine.keyed import Look
from poise.engine.mattes import Keyer, matte_of
from poise.engine.reference import reference, rounded

__all__ = ["COARSE", "FINE", "Engine", "Keyer", "Look", "compile_engine", "matte_of", "reference", "rounded", "row"]
