"""Arguments and options that several commands share."""

from pathlib import Path

import click

from poise.batch.pool import LIMIT


def _every_nth(context: click.Context, option: click.Parameter, value: str | None) -> int | None:
    """Read the value of `--frames`: 1 for `all`, N for N, None where the option is not given."""
    if value is None:
        return None
    if value == "all":
        return 1
    if not (value.isascii() and value.isdecimal() and int(value)):
        raise click.BadParameter(f"{value!r} is neither all nor a number such as 8; before a path, use --frames all")
    return int(value)


PATHS = click.argument("paths", metavar="PATH...", nargs=-1, required=True, type=click.Path(path_type=Path))
SIDECARS = click.option(
    "--sidecars",
    metavar="DIR",
    type=click.Path(file_okay=False, path_type=Path),
    help="Keep sidecars in DIR instead of beside the pictures.",
)
VERSION = click.option(
    "--version", metavar="NAME", default="", help="Use this version of each shot in place of its correction."
)
OUT = click.option(
    "--out",
    required=True,
    metavar="DIR",
    type=click.Path(file_okay=False, path_type=Path),
    help="The folder to write to.",
)
EVERYTHING = click.option("--all", "everything", is_flag=True, help="Include shots without a sidecar, as neutral.")
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")
AS = click.option(
    "--as",
    "form",
    type=click.Choice(("all", "cdl")),
    default="all",
    help="cdl: slope, offset, power and saturation alone, which a CDL holds exactly.",
)
WORKERS = click.option(
    "--workers", type=click.IntRange(1, 256), help="Number of processes. Default: one for each processor."
)
TIME_LIMIT = click.option(
    "--time-limit",
    type=click.FloatRange(1, 86400),
    default=LIMIT,
    show_default=True,
    metavar="SECONDS",
    help="Give up on a frame after this time.",
)
VERIFY = click.option("--verify", is_flag=True, help="Read every source and output to see whether it has changed.")
FRAMES = click.option(
    "--frames",
    metavar="all|N",
    is_flag=False,
    flag_value="all",
    callback=_every_nth,
    help="Measure all frames of a sequence, or every Nth.",
)
