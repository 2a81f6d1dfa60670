"""`poise --help` as a whole process, beside an empty Python."""

import subprocess
import sys

from measure import medians, poise, row

ours, empty = medians(lambda: poise("--help"), lambda: subprocess.run([sys.executable, "-c", ""], check=True), runs=11)
row("poise --help, beside an empty Python", ours, empty, 0.25, "s")
