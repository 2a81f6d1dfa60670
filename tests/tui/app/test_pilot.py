"""The app under keys: what sixty of them leave, that each does something, and that what is typed ahead arrives."""

import asyncio
import sys
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from sixty import SIXTY, called, reel, sidecars
from terminals import Pty, Tmux, tmux_or_skip
from textual.pilot import Pilot
from thorough import many
from until import until_in

from poise.correction import (
    NEUTRAL,
    Balance,
    Correction,
    Curves,
    Encoding,
    Inside,
    Interval,
    Levels,
    Light,
    Matte,
    Tone,
    Zone,
)
from poise.correction.model import HueInterval
from poise.frames import scan
from poise.sidecar.decision import Decision
from poise_tui.actions import ACTIONS
from poise_tui.app import Poise
from poise_tui.desk import MODES, Channel, Hand, Mode, Shown, banks
from poise_tui.draw.capability import Capability
from poise_tui.draw.look import Look
from poise_tui.keys.keymap import Keymap, keymap
from poise_tui.screens.desk import DeskScreen
from poise_tui.session.session import Session
from poise_tui.terminal.cellview import CellView
from poise_tui.widgets.prompt import Prompt

POISE = [sys.executable, "-c", "from poise.commands import main; main()"]
TMUX = {"enter": "Enter", "tab": "Tab", "space": "Space", "right": "Right"}
LOOK = Look(Capability(120, 40, "truecolor", True))


def opened(folder: Path, keys: Keymap | None = None) -> Poise:
    return Poise(Session(scan([folder]).shots), keys or keymap(), LOOK)


def screen_of(app: Poise) -> DeskScreen:
    screen = app.screen_stack[0]
    assert isinstance(screen, DeskScreen)
    return screen


def shown(app: Poise) -> list[str]:
    """What the panes of the screen on top show, row by row."""
    return [line for pane in app.screen.query(CellView) if pane._shown for line in pane._shown.lines()]


async def until(pilot: Pilot[int], text: str) -> None:
    def lines() -> list[str]:
        return shown(pilot.app)  # type: ignore[arg-type]

    await until_in(pilot, lambda: any(text in line for line in lines()), lambda: f"{text!r}; {lines()}")


@pytest.fixture
def wanted(tmp_path: Path) -> dict[str, Any]:
    """The sidecars that the calls leave."""
    folder = reel(tmp_path / "called")
    called(folder)
    return sidecars(folder)


def test_the_sitting_is_worth_comparing(wanted: dict[str, Any]) -> None:
    assert len(SIXTY) == 60
    assert {name: side["state"] for name, side in wanted.items()} == {
        "ferry_02.png.poise.json": "balanced",
        "ferry_night.####.png.poise.json": "held",
        "lighthouse_04.png.poise.json": "skipped",
        "quay_01.tif.poise.json": "new",
    }
    held = wanted["ferry_night.####.png.poise.json"]
    assert (held["note"], held["encoding"]["range"], held["shot"]["frames"]) == ("fog", "narrow", [101, 103])
    pasted, light = wanted["ferry_02.png.poise.json"]["correction"]["light"], held["correction"]["light"]
    assert light["flare"] == [-0.005, 0, 0]
    assert {**light, "flare": [0, 0, 0]} == pasted != {}
    assert wanted["quay_01.tif.poise.json"]["correction"]["tone"]["toe"] == pytest.approx(0.1)


def test_sixty_keys_leave_what_the_calls_leave(tmp_path: Path, wanted: dict[str, Any]) -> None:
    folder = reel(tmp_path / "typed")

    async def sit() -> None:
        app = opened(folder)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press(*(key for key, _ in SIXTY))
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(sit())
    assert sidecars(folder) == wanted


@pytest.mark.parametrize(("columns", "rows"), [(120, 40), (80, 24)])
def test_sixty_keys_typed_in_tmux_leave_the_same(
    tmp_path: Path, wanted: dict[str, Any], columns: int, rows: int
) -> None:
    tmux_or_skip()
    folder = reel(tmp_path / "typed")
    with Tmux([*POISE, str(folder)], columns, rows) as tmux:
        tmux.wait_for("ferry_02")
        tmux.keys(*(TMUX.get(key, key) for key, _ in SIXTY))
        tmux.wait_for("quay_01")
        tmux.keys("Q")
        tmux.wait_end()
    assert sidecars(folder) == wanted


BUSY = Correction(
    light=Light(0.5, 20, 10, (0.05, 0.06, 0.07), 1),
    balance=Balance((1.1,) * 3, (0.02,) * 3, (1.2,) * 3),
    levels=Levels(0.05, 0.9, 1.2, 0.5),
    tone=Tone(0.1, 0.2),
    curves=Curves(*[((0.0, 0.0), (0.5, 0.55), (1.0, 1.0))] * 4),
    saturation=1.2,
    mattes=(
        Matte("sail", inside=Inside(0.5, 10, 1.2, Balance((1.1,) * 3, (0.02,) * 3, (1.2,) * 3))),
        Matte(
            "buoy",
            *(True, False, 0.001, 0.01),
            HueInterval(90, 130, 10), Interval(0.1, 0.5, 0.04), Interval(0.2, 0.8, 0.04),
            Inside(0.5, 10, 1.2, Balance((1.1,) * 3, (0.02,) * 3, (1.2,) * 3)),
        ),
        Matte("net"),
    ),
)  # fmt: skip
"""Nothing is neutral in it, so that every key can do something."""
NARROW = Encoding("linear", "linear", range="narrow")


def seen(app: Poise) -> tuple[object, ...]:
    """All that a key may change: session, screen, message, panes."""
    session = app.session
    decisions = tuple((s.decision, s.frame, s.history.depth) for s in session.slots)
    hand = (session.index, session.hand, session.before, tuple(session.marked), session.copied)
    screen = screen_of(app)
    return decisions, hand, app.screen, screen._message, screen._asking, screen._view


def prepared(app: Poise, name: str, mode: Mode) -> None:
    """A session in which the action has something to do: in the middle of the reel, with steps behind and ahead."""
    session, screen = app.session, screen_of(app)
    screen._message, screen._view = "", "histogram" if name == "view.all" else None
    session.go(2)
    channel: Channel = "red" if name == "curve.master" else "master"
    shown: Shown = "matte" if name == "matte.show-result" else "result"
    zone = Zone.MIDTONES if name == "zone.whole" else Zone.WHOLE
    session.hand = Hand(zone=zone, mode=mode, matte=1, channel=channel, shown=shown, at=0.5)
    if name.startswith("frame"):
        session.go(1)
        session.slot.frame = 1
    session.slots[session.index].history = type(session.slot.history)(Decision())
    session.decide(Decision(correction=BUSY, encoding=NARROW))
    session.decide(Decision(encoding=NARROW, note="tide"))
    if mode in ("matte", "curve") or name in ("redo", "reset", "before") or name.endswith(".neutral"):
        session.undo()
    session.copied = replace(NEUTRAL, saturation=0.5)


@pytest.mark.parametrize(
    ("mode", "bank"),
    [
        pytest.param(mode, bank, marks=() if mode in ("balance", "curve") else pytest.mark.thorough)
        for mode in MODES
        for bank in range(len(banks(mode)))
    ],
)
def test_no_key_that_help_lists_is_dead(tmp_path: Path, mode: Mode, bank: int) -> None:
    """Pressed once, each changes the session or the screen, or says why not."""
    keys = keymap()
    # what is the same in every mode is pressed at one, and at all on request
    own = [one for one in ACTIONS if mode == many("balance", mode) or one.modes != MODES or one.group == "desk"]
    actions = [one.name for one in own if mode in one.modes and (bank == 0 or one.group == "desk")]
    dead, faults = [], []

    async def press() -> None:
        app = opened(reel(tmp_path))
        async with app.run_test(size=(120, 40)) as pilot:
            shots = range(len(app.session.slots))
            await until_in(pilot, lambda: all(app.session.load(index).loaded for index in shots))
            for name in [one for one in actions if one not in ("redraw", "quit")]:
                for key in [key for key in keys.keys[name] if keys.actions[mode][key] == name]:
                    prepared(app, name, mode)
                    app.session.hold(bank=bank)
                    before = seen(app)
                    await pilot.press(key)
                    if seen(app) == before:
                        dead.append((name, key))
                    if app.screen is not screen_of(app) or screen_of(app)._asking:
                        await pilot.press("escape")
                    if app.screen is not screen_of(app) or screen_of(app)._asking:
                        faults.append((name, key))
            if bank == 0 and mode == "balance":
                whole: list[bool] = []
                for pane in app.screen.query(CellView):
                    pane.displayed = whole.append  # type: ignore[method-assign]
                await pilot.press("ctrl+l")
                await until_in(pilot, lambda: sum(whole) >= len(list(app.screen.query(CellView))))
            await pilot.press("Q")
        assert app.fault is None

    asyncio.run(press())
    assert dead == faults == []


def test_a_key_without_an_action_says_so_and_changes_nothing(tmp_path: Path) -> None:
    async def press() -> None:
        app = opened(reel(tmp_path))
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("B")
            await until(pilot, "B does nothing here; ? lists the keys")
            await pilot.press("tab", "p")
            await until(pilot, "no control in this column")
            assert app.session.slot.decision == Decision()

    asyncio.run(press())


def test_a_line_to_type_on_opens_empty_edits_and_is_left(tmp_path: Path) -> None:
    async def press() -> None:
        app = opened(reel(tmp_path))
        async with app.run_test(size=(120, 40)) as pilot:
            line = app.screen.query_one(Prompt)
            for key, label in ((":", ":"), ("F", "find:"), ("H", "note:")):
                await pilot.press(key)
                wide = 120 - len(label) - 1
                await until_in(pilot, lambda wide=wide: line.size.width == wide)  # type: ignore[misc]
                assert line.value == ""
                await pilot.press("f", "x", "backspace", "g", "left", "o", "home", "s", "end", "y", "home", "delete")
                assert line.value == "fogy"
                await pilot.press("escape")
                assert not screen_of(app)._asking
            await pilot.press("q")
        assert app.fault is None
        assert app.session.slot.decision.correction.balance.offset == (0.005, 0, 0)
        assert app.session.slot.decision.note == ""

    asyncio.run(press())


def test_what_is_typed_ahead_of_a_line_and_behind_it_arrives(tmp_path: Path) -> None:
    """All in one packet, as over a slow line: ask, text, Enter, and keys for the shot that was found."""
    folder = reel(tmp_path)
    with Pty([*POISE, str(folder)], 100, 30) as pty:
        pty.wait_for("ferry_02")
        pty.send("Fquay\rqq:note fog over the pier\rw")
        pty.wait_for("undo 3")  # the two presses of q are one step
        pty.send("Q")
        assert pty.wait() == 0
    side = sidecars(folder)
    assert list(side) == ["quay_01.tif.poise.json"]
    assert side["quay_01.tif.poise.json"]["note"] == "fog over the pier"
    assert side["quay_01.tif.poise.json"]["correction"]["balance"]["offset"] == [0.01, 0.005, 0.0]


def test_a_users_keys_reach_the_app(tmp_path: Path) -> None:
    keys = keymap({"red.raise": ["U"], "undo": ["backspace"]})

    async def press() -> None:
        app = opened(reel(tmp_path), keys)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.press("U", "-", "=", "U", "backspace", "q", "Z")
            assert app.session.slot.decision.correction.balance.offset == (0.005, 0, 0)
            await until(pilot, "Z does nothing")
            await pilot.press("?")
            await until(pilot, "U a z")
            await pilot.press("q")
            assert app.screen is screen_of(app)

    asyncio.run(press())
