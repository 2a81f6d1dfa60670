"""Makes the picture in the README: what `poise show` prints of a demo shot, as SVG.

Run: python tests/readme/picture.py
"""

import io
import subprocess
import sys
from pathlib import Path

from rich.console import Console
from rich.text import Text

HERE = Path(__file__).parent
SHOT = HERE.parents[1] / "demo_frames" / "market_03.tif"
WIDTH = 120


def main() -> None:
    call = [sys.executable, "-c", "from poise.commands import main; main()"]
    shown = subprocess.run(
        [*call, "show", str(SHOT), "--colour", "--width", str(WIDTH)],
        check=True,
        capture_output=True,
        env={"COLORTERM": "truecolor", "TERM": "xterm-256color", "LC_ALL": "C.UTF-8", "PYTHONIOENCODING": "utf-8"},
    )
    console = Console(record=True, width=WIDTH, file=io.StringIO(), color_system="truecolor", force_terminal=True)
    console.print(Text.from_ansi(shown.stdout.decode()), end="")
    console.save_svg(str(HERE / "show.svg"), title=f"poise show {SHOT.name}")


if __name__ == "__main__":
    main()
