"""`poise FOLDER`: the terminal app, which balances shots by keys."""

import gc
import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from poise.commands.shared.options import PATHS, SIDECARS
from poise.delivery.limits import SETS, load
from poise.errors import PoiseError, UsageError, one_line
from poise.frames import scan
from poise.invocation import program_name
from poise_tui.draw.capability import Capability, capability

SYSTEMS = ("auto", "standard", "256", "truecolor", "windows")
"""The values that textual accepts in TEXTUAL_COLOR_SYSTEM; any other would end it at once."""


@click.command("app")
@PATHS
@SIDECARS
@click.option("--stills", is_flag=True, help="Make every file a shot of its own.")
@click.option("--ascii", "plain", is_flag=True, help="Draw with plain characters.")
@click.option("--light", is_flag=True, help="Draw dark on light.")
@click.option(
    "--limits", default=SETS[0], metavar="SET", help=f"Limits of delivery: {', '.join(SETS)}, or a TOML file."
)
@click.option("--keys", type=click.Path(path_type=Path), metavar="FILE", help="A keymap in TOML.")
def command(
    paths: tuple[Path, ...],
    sidecars: Path | None,
    stills: bool,
    plain: bool,
    light: bool,
    limits: str,
    keys: Path | None,
) -> None:
    """Balance shots by keys, with scopes that answer each at once.

    Example: poise day
    """
    held_to = load(limits)
    listing = scan(paths, stills, sidecars)
    passed = [f"{one_line(path)}: {reason}" for path, reason in listing.problems]
    for line in passed[:-1] if not listing.shots else passed:
        click.echo(f"poise: {line}", err=True)
    if not listing.shots:
        raise UsageError(passed[-1] if passed else "no pictures found; nothing to do")
    able = _able(plain)
    gc.disable()  # importing modules leaves nothing to collect, and the user waits for the first screen
    from poise_tui.draw.look import Look
    from poise_tui.keys import keymap

    keyed = keymap.load(keys or _config() / "keys.toml")
    if keys and not keys.exists():
        raise UsageError(f"{keys}: no such file; name a keymap in TOML")
    if os.environ.get("TEXTUAL_COLOR_SYSTEM", "auto") not in SYSTEMS:
        del os.environ["TEXTUAL_COLOR_SYSTEM"]
    from poise_tui.app import Poise
    from poise_tui.session.session import Session
    from poise_tui.terminal import malloc

    # A thread that reads or measures yields to the one that answers keys ten times sooner than by default.
    sys.setswitchinterval(0.0005)
    malloc.return_freed()
    session = Session(listing.shots)
    app = Poise(session, keyed, Look(able, "light" if light else "dark"), passed, paths, stills)
    app.limits = held_to
    gc.freeze()
    gc.enable()
    try:
        app.run(mouse=False)
    finally:
        faults = session.save_all()
    if app.fault:
        raise app.fault
    _report(faults)
    # A thread may still be decoding a picture, in libraries that crash when the interpreter shuts down.
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)


def _report(faults: Sequence[PoiseError]) -> None:
    for earlier in faults[:-1]:
        click.echo(f"poise: {earlier}", err=True)
    if faults:
        raise faults[-1]


def _able(plain: bool) -> Capability:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError(f"the app needs a terminal; without one use {program_name()} show, measure, auto and apply")
    term = os.environ.get("TERM", "")
    if term in ("", "dumb", "unknown"):
        raise UsageError(
            f"this terminal (TERM={term or 'not set'}) can't move its cursor; set TERM, or use {program_name()} show"
        )
    found = capability(os.environ, True, shutil.get_terminal_size(), sys.stdout.encoding or "ascii")
    return Capability(found.width, found.height, found.colours, found.unicode and not plain)


def _config() -> Path:
    import platformdirs

    return Path(platformdirs.user_config_dir("poise"))
