"""Arrows run one way: poise loads no terminal package, and --help loads nothing heavy."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1] / "core"


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
