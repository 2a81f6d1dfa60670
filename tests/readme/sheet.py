"""Makes the picture of a contact sheet in the README from the real program, in a real Chromium.

Run: python tests/readme/sheet.py
"""

import json
import shutil
import subprocess
import sys
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
POISE = [sys.executable, "-c", "from poise.commands import main; main()"]
WIDTH, HEIGHT = 1280, 1120


def decide(picture: Path, **more: object) -> None:
    """Something that a person said about a shot."""
    path = picture.with_name(f"{picture.name}.poise.json")
    path.write_text(json.dumps(json.loads(path.read_text(encoding="utf-8")) | more), encoding="utf-8")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        reel = shutil.copytree(ROOT / "demo_frames", Path(folder) / "harbour")
        subprocess.run([*POISE, "auto", reel], check=True, stdout=subprocess.DEVNULL)
        for file in sorted(reel.glob("*.png"))[1:]:
            if file.with_name(f"{file.name}.poise.json").exists():
                decide(file, state="balanced")
        decide(reel / "alley_07.png", state="held", note="lanterns: ask whether they are meant to be warm")
        sheet = Path(folder) / "harbour.html"
        subprocess.run([*POISE, "report", "harbour", "--out", sheet, "--frames", "all"], check=True, cwd=folder)
        with sync_playwright() as play:
            browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT}, color_scheme="dark")
            page.goto(sheet.as_uri())
            shot = Image.open(BytesIO(page.screenshot()))
            browser.close()
        # few colours, so that the file stays small
        shot.convert("RGB").quantize(160, dither=Image.Dither.NONE).save(HERE / "sheet.png", optimize=True)
