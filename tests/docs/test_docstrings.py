"""Docstrings of the engine and the command line: every public name has one, and every example in one is right."""

import ast
import doctest
import importlib
from collections.abc import Iterator
from pathlib import Path

import pytest

import poise

CORE = Path(poise.__file__).parent
FILES = sorted(CORE.rglob("*.py"))
OF_A_PROTOCOL = {"codec.py": {"probe", "read", "write"}, "guard.py": {"check"}}
"""Functions of every format, which `poise.frames.codecs` describes once."""


def undocumented(file: Path) -> Iterator[str]:
    tree = ast.parse(file.read_text())
    if not ast.get_docstring(tree):
        yield f"{file}"
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            known = node.name in OF_A_PROTOCOL.get(file.name, ())
            overload = any(ast.unparse(one) == "overload" for one in node.decorator_list)
            if not (ast.get_docstring(node) or known or overload):
                yield f"{file}: {node.name}"


def test_every_public_function_and_class_has_one() -> None:
    assert [name for file in FILES for name in undocumented(file)] == []


@pytest.mark.parametrize("file", [file for file in FILES if ">>>" in file.read_text()], ids=lambda file: file.stem)
def test_every_example_is_right(file: Path) -> None:
    parts = file.relative_to(CORE.parent).with_suffix("").parts
    failed, tried = doctest.testmod(importlib.import_module(".".join(parts).removesuffix(".__init__")))
    assert (failed, tried > 0) == (0, True)
