"""Every private name of textual that the app touches is known, is listed for contributors, and exists.

The pinned range in `pyproject.toml` may only go up to a version in which this passes.
"""

import ast
import inspect
import pkgutil
import re
from collections.abc import Mapping
from functools import cache
from importlib import import_module
from pathlib import Path
from types import ModuleType

from textual import _compositor
from textual.app import App
from textual.drivers._writer_thread import WriterThread
from textual.drivers.linux_driver import LinuxDriver
from textual.screen import Screen
from textual.strip import Strip

import poise_tui

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
TOUCHED: Mapping[type | ModuleType, tuple[str, ...]] = {
    App: (
        "_batch_count",
        "_begin_update",
        "_close_messages_no_wait",
        "_display",
        "_driver",
        "_end_update",
        "_fatal_error",
        "_handle_exception",
    ),
    Screen: ("_compositor", "_layout_required"),
    Strip: ("_cell_length", "_segments"),
    LinuxDriver: ("_writer_thread",),
    WriterThread: ("_queue",),
    _compositor.Compositor: ("visible_widgets",),
    _compositor: ("LayoutUpdate",),
}


def gone(touched: Mapping[type | ModuleType, tuple[str, ...]]) -> list[str]:
    """Those that exist neither on the class or module, nor on instances of the class."""

    def exists(owner: type | ModuleType, name: str) -> bool:
        bases = inspect.getmro(owner)[:-1] if inspect.isclass(owner) else ()
        return hasattr(owner, name) or any(name in bound(parsed(base.__module__)) for base in bases)

    return [f"{owner.__name__}.{name}" for owner, names in touched.items() for name in names if not exists(owner, name)]


def private(name: object) -> bool:
    return isinstance(name, str) and name.isidentifier() and name[0] == "_" and name[1:2] not in ("_", "")


def bound(tree: ast.AST) -> set[str]:
    """Private names that a piece of source gives a value to."""
    names: set[str] = set()
    for node in ast.walk(tree):
        match node:
            case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name) | ast.ClassDef(name=name):
                names.add(name)
            case ast.Attribute(attr=name, ctx=ast.Store()) | ast.Name(id=name, ctx=ast.Store()):
                names.add(name)
    return {name for name in names if private(name)}


def used(tree: ast.AST) -> set[str]:
    """Private names that a piece of source reads or calls, `getattr(thing, "_name")` among them."""
    names: set[str] = set()
    for node in ast.walk(tree):
        match node:
            case ast.Attribute(value=ast.Name(id="os")):
                pass
            case ast.Attribute(attr=name) | ast.Constant(value=str(name)):
                names.add(name)
    return {name for name in names if private(name)}


@cache
def parsed(module: str) -> ast.Module:
    return ast.parse(inspect.getsource(import_module(module)))


def touched() -> set[str]:
    """Private names in the app's source that textual binds: on its classes, or anywhere that the app binds nothing."""
    trees = {found.name: parsed(found.name) for found in pkgutil.walk_packages(poise_tui.__path__, "poise_tui.")}
    names = set().union(*map(used, trees.values())) - set().union(*map(bound, trees.values()))
    for module, tree in trees.items():
        for node in tree.body:
            if isinstance(node, ast.ClassDef):
                bases = {base.__module__ for base in getattr(import_module(module), node.name).__mro__}
                theirs = (bound(parsed(base)) for base in bases if base.startswith("textual."))
                names |= (bound(node) | used(node)) & set().union(*theirs)
    return names


def test_no_private_name_that_is_touched_is_gone() -> None:
    assert gone(TOUCHED) == []
    assert gone({Strip: ("_segments", "_buoy"), _compositor: ("Buoy",)}) == ["Strip._buoy", "textual._compositor.Buoy"]


def test_no_other_private_name_is_touched() -> None:
    assert touched() == {name for names in TOUCHED.values() for name in names if private(name)}


def test_the_list_for_contributors_is_complete() -> None:
    listed = re.search(r"<!-- private names of textual -->\n(.*?)<!-- end -->", DEVELOPERS.read_text(), re.DOTALL)
    assert listed
    known = {f"{owner.__name__}.{name}" for owner, names in TOUCHED.items() for name in names}
    assert set(re.findall(r"`([^`]+)`", listed[1])) == known
