"""Writes constraints.txt beside it: the newest versions that pyproject.toml allows, under each Python that is named.

    python3 .ci/pin.py python3.11 python3.12 python3.13

Run `PYTHON=... .ci/run` under each of them before the file is committed: it holds only what was tested. A Python newer
than the last one gets the versions of the last. With --installed, prints what is installed beside this Python instead.
"""

import subprocess
import sys
import tempfile
from importlib.metadata import distributions
from pathlib import Path

HERE = Path(__file__).parent
HEADER = "# Made by .ci/pin.py under Python {}: the versions that were tested together.\n"
TOOLS = ("pip", "setuptools", "poise")


def installed() -> list[str]:
    """The packages beside this Python, as `name==version`."""
    return sorted(f"{one.name.lower()}=={one.version}" for one in distributions() if one.name.lower() not in TOOLS)


def resolved(python: str) -> tuple[str, dict[str, str]]:
    """The minor version of a Python, and what a fresh environment of it gets, all that tests need included."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([python, "-m", "venv", folder], check=True)
        own = f"{folder}/bin/python"
        subprocess.run([own, "-m", "pip", "install", "-q", f"{HERE.parent}[test]"], check=True)
        told = subprocess.run([own, __file__, "--installed"], check=True, capture_output=True, text=True).stdout
        version = subprocess.run([own, "-V"], check=True, capture_output=True, text=True).stdout
    minor = ".".join(version.split()[1].split(".")[:2])
    return minor, dict(line.split("==") for line in told.split())


def lines(name: str, versions: dict[str, str], pythons: list[str]) -> list[str]:
    """The lines of one package: one, or one for each version with the Pythons that it is for.

    Args:
        versions: of the package, by minor version of Python.
        pythons: the minor versions, rising.
    """
    if len(set(versions.values())) == 1:
        return [f"{name}=={next(iter(versions.values()))}"]
    marks = {minor: f'python_version == "{minor}"' for minor in pythons} | {
        pythons[-1]: f'python_version >= "{pythons[-1]}"'
    }
    return [
        f"{name}=={version} ; " + " or ".join(marks[minor] for minor in pythons if versions.get(minor) == version)
        for version in dict.fromkeys(versions.values())
    ]


def main() -> None:
    if sys.argv[1:] == ["--installed"]:
        print(*installed(), sep="\n")
        return
    found = dict(resolved(python) for python in sys.argv[1:])
    pythons = sorted(found, key=lambda minor: tuple(map(int, minor.split("."))))
    names = sorted({name for versions in found.values() for name in versions})
    text = HEADER.format(", ".join(pythons))
    for name in names:
        versions = {minor: found[minor][name] for minor in pythons if name in found[minor]}
        text += "".join(f"{line}\n" for line in lines(name, versions, pythons))
    (HERE / "constraints.txt").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
