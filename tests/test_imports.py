"""Imports run one way: down the layers, without a circle; poise loads no terminal package, --help nothing heavy."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
from PIL import Image
from skimage import data

from poise.correction import NEUTRAL
from poise.sidecar import load

ROOT = Path(__file__).parents[1] / "core"
PACKAGES = {"poise": ROOT / "poise", "poise_tui": ROOT.parent / "tui" / "poise_tui"}
LAYERS = {
    "poise": """
        commands manual report delivery exchange batch solve engine sidecar scopes chain correction frames colour
        atomic stamp invocation native_output regular_file errors
    """,
    "poise_tui": """
        commands app screens widgets keys commandline actions workers compare edits printing measure session
        terminal draw desk
    """,
}
"""The folders and loose files of each package, from the top down: each imports only from those behind it."""


def imports(package: str) -> Iterator[tuple[str, str]]:
    """Every import within a package, as (module, imported module) by dotted name."""
    base = PACKAGES[package]
    names = {path: ".".join((package, *path.relative_to(base).with_suffix("").parts)) for path in base.rglob("*.py")}
    modules = {name.removesuffix(".__init__") for name in names.values()}
    for path, name in names.items():
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == package:
                for alias in node.names:
                    whole = f"{node.module}.{alias.name}"
                    yield name.removesuffix(".__init__"), whole if whole in modules else node.module


@pytest.mark.parametrize("package", PACKAGES)
def test_imports_run_down_the_layers(package: str) -> None:
    layers = LAYERS[package].split()
    rooms = {(a.split(".")[1], b.split(".")[1]) for a, b in imports(package) if a.count(".") and b.count(".")}
    assert {room for pair in rooms for room in pair} == set(layers)
    assert [(a, b) for a, b in sorted(rooms) if layers.index(a) > layers.index(b)] == []


@pytest.mark.parametrize("package", PACKAGES)
def test_no_module_imports_itself_by_way_of_others(package: str) -> None:
    graph: dict[str, set[str]] = {}
    for module, imported in imports(package):
        graph.setdefault(module, set()).add(imported)
    order = list(TopologicalSorter(graph).static_order())  # raises CycleError, which names the circle
    assert len(order) > 100


def test_no_folder_of_the_terminal_side_is_too_large_to_read() -> None:
    folders = [path for path in PACKAGES["poise_tui"].rglob("*") if path.is_dir() and path.name != "__pycache__"]
    assert {folder.name: count for folder in folders if (count := len(list(folder.glob("*.py")))) > 16 + 1} == {}
    assert [path.name for path in PACKAGES["poise_tui"].glob("*.py")] in (
        ["app.py", "__init__.py"],
        ["__init__.py", "app.py"],
    )


def fresh(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_no_module_of_poise_loads_a_terminal_package() -> None:
    names = [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in sorted(ROOT.rglob("*.py"))]
    modules = [name.removesuffix(".__init__") for name in names]
    assert "poise.commands.apply" in modules
    loaded = fresh(
        f"import importlib, sys\nfor name in {modules!r}: importlib.import_module(name)\n"
        "print({m.split('.')[0] for m in sys.modules} & {'textual', 'rich', 'rich_pixels', 'poise_tui'})"
    )
    assert loaded.strip() == "set()"


def test_help_loads_nothing_heavy() -> None:
    loaded = fresh(
        "import sys\nfrom poise.commands import main\n"
        "try: main(['--help'])\nexcept SystemExit as end: print(end.code)\n"
        "print({m.split('.')[0] for m in sys.modules} & {'colour', 'scipy', 'numpy', 'OpenImageIO', 'PyOpenColorIO'})"
    )
    assert loaded.splitlines()[-2:] == ["0", "set()"]


def test_the_app_opens_without_the_engine() -> None:
    loaded = fresh(
        "import sys, poise_tui.app, poise_tui.commands.app\n"
        "print({m.split('.')[0] for m in sys.modules} & {'colour', 'scipy', 'cv2', 'PyOpenColorIO'})"
    )
    assert loaded.strip() == "set()"


def test_no_shot_in_a_common_code_loads_colour_science(tmp_path: Path) -> None:
    """Under a light, too: it takes most of a second, in every process of a batch."""
    Image.fromarray(data.coffee()[::8, ::8]).save(tmp_path / "quay.png")
    for words in (["auto"], ["measure"], ["check"], ["apply", "--out", str(tmp_path / "out")]):
        loaded = fresh(
            f"import sys\nfrom poise.commands import main\n"
            f"try: main({[words[0], str(tmp_path / 'quay.png'), *words[1:]]!r})\n"
            "except SystemExit: pass\nprint({m.split('.')[0] for m in sys.modules} & {'colour', 'scipy'})"
        )
        assert loaded.splitlines()[-1] == "set()", words
    decided = load(tmp_path / "quay.png.poise.json").correction
    assert decided != NEUTRAL
    names = ", ".join(f"Path({str(tmp_path / name)!r})" for name in ("quay.png", "lit.png"))
    lit = f"Job({names}, Correction(light=Light(warmth=30)), None, 'png', None)"
    loaded = fresh(
        "import sys\nfrom pathlib import Path\nfrom poise.batch.worker import Job, process_frame\n"
        f"from poise.correction import Correction, Light\nprint(type(process_frame({lit})).__name__)\n"
        "print({m.split('.')[0] for m in sys.modules} & {'colour', 'scipy'})"
    )
    assert loaded.split() == ["FrameResult", "set()"]
