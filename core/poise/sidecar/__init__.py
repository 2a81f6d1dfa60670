"""Sidecars: the JSON file beside each shot, checked when read and written atomically."""

from poise.sidecar.decision import UNDECIDED, Decision
from poise.sidecar.read import load, load_or_none
from poise.sidecar.schema import ShotInfo, Sidecar, State, Version, Written, schema
from poise.sidecar.write import SidecarConflict, save, set_aside

__all__ = [
    "UNDECIDED",
    "Decision",
    "ShotInfo",
    "Sidecar",
    "SidecarConflict",
    "State",
    "Version",
    "Written",
    "load",
    "load_or_none",
    "save",
    "schema",
    "set_aside",
]
