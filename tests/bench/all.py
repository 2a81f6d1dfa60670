"""Every bench script, one after the other: measured, reference, ratio or time, target."""

import subprocess
import sys
from pathlib import Path

SCRIPTS = (
    "in_memory",
    "apply_floor",
    "two_workers",
    "memory",
    "help_time",
    "scan_10000",
    "nudge_arrays",
    "nudge_floor",
    "matte",
    "clip",
    "keyframed",
)

for script in SCRIPTS:
    subprocess.run([sys.executable, "-W", "ignore", str(Path(__file__).parent / f"{script}.py")], check=True)
