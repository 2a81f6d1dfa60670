"""Sixty keys at the desk, and the calls on a session that do the same: a sitting that must end alike either way."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from poise.correction import Zone
from poise.frames import scan
from poise_tui.edits import group
from poise_tui.session.session import Session

Call = Callable[[Session], object]

DEMO = Path(__file__).parents[2] / "demo_frames"
NAMES = ("ferry_02.png", "ferry_night.0101.png", "ferry_night.0102.png", "ferry_night.0103.png", "lighthouse_04.png")
MORE = ("market_03.tif", "quay_01.tif")


def reel(folder: Path) -> Path:
    """A folder of five shots: a still, a sequence of three frames, three stills more."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in NAMES + MORE:
        shutil.copy(DEMO / name, folder / name)
    return folder


def nothing(session: Session) -> None:
    """A key that only the screen knows of, or a letter of what is being typed."""


def nudge(place: int, direction: int) -> Call:
    return lambda session: group.nudge(session, place, direction)


def home(place: int) -> Call:
    return lambda session: group.home(session, place)


def zone(zone: Zone) -> Call:
    return lambda session: session.hold(zone=zone)


def step(by: int) -> Call:
    return lambda session: session.step(by)


def onward(state: Any, note: str | None = None) -> Call:
    def settle(session: Session) -> None:
        session.state(state, note)
        index = session.unfinished()
        if index is not None:
            session.go(index)

    return settle


def before(session: Session) -> None:
    session.before = not session.before


def find(text: str) -> Call:
    def to(session: Session) -> None:
        index = session.found(text)
        assert index is not None
        session.go(index)

    return to


def narrow(session: Session) -> None:
    group.encode(session, {"range": "narrow"})


SIXTY: tuple[tuple[str, Call], ...] = (
    ("q", nudge(0, +1)),
    ("q", nudge(0, +1)),
    ("z", nudge(0, -1)),
    ("1", zone(Zone.SHADOWS)),
    ("w", nudge(1, +1)),
    ("e", nudge(2, +1)),
    ("2", zone(Zone.MIDTONES)),
    ("r", nudge(3, +1)),
    ("=", step(+1)),
    ("3", zone(Zone.HIGHLIGHTS)),
    ("c", nudge(2, -1)),
    ("4", zone(Zone.WHOLE)),
    ("-", step(-1)),
    ("t", nudge(4, +1)),
    ("n", nudge(5, -1)),
    ("u", nudge(6, +1)),
    ("i", nudge(7, +1)),
    (".", nudge(8, -1)),
    ("/", nudge(9, -1)),
    ("Z", Session.undo),
    ("Z", Session.undo),
    ("Y", Session.redo),
    ("C", Session.copy),
    ("X", Session.mark),
    ("space", before),
    ("space", before),
    ("enter", onward("balanced")),
    ("V", group.paste),
    ("R", group.reset),
    ("Z", Session.undo),
    ("tab", Session.next_bank),
    ("q", nudge(0, +1)),
    ("x", nudge(1, -1)),
    ("s", home(1)),
    ("t", nudge(4, +1)),
    ("tab", Session.next_bank),
    ("@", nothing),
    ("tab", nothing),
    ("tab", nothing),
    ("down", nothing),
    ("enter", narrow),
    ("right", lambda session: session.frame(+1)),
    ("0", nothing),
    ("H", nothing),
    ("f", nothing),
    ("o", nothing),
    ("g", nothing),
    ("enter", onward("held", "fog")),
    ("S", onward("skipped")),
    ("F", nothing),
    ("q", nothing),
    ("u", nothing),
    ("enter", find("qu")),
    ("1", zone(Zone.SHADOWS)),
    ("p", nudge(9, +1)),
    ("p", nudge(9, +1)),
    ("-", step(-1)),
    ("o", nudge(8, +1)),
    ("f", home(3)),
    ("v", nudge(3, -1)),
)
"""Keys as textual calls them, and the calls on a session that do the same."""


def called(folder: Path) -> Session:
    """The sitting by calls, saved at its end."""
    session = Session(scan([folder]).shots)
    for _, call in SIXTY:
        call(session)
    assert session.save_all() == []
    return session


def sidecars(folder: Path) -> dict[str, Any]:
    """Every sidecar by name, without who wrote it when and after how many saves, which follow from the clock."""
    found = {}
    for path in sorted(folder.rglob("*.poise.json*")):
        content = json.loads(path.read_bytes())
        del content["written"], content["revision"]
        found[path.name] = content
    return found
