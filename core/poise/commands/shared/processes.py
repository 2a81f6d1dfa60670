"""Options that commands share which work through frames in processes of their own, or on what such a run left."""

import click

from poise.batch.pool import LIMIT

WORKERS = click.option(
    "--workers", type=click.IntRange(1, 256), help="Processes; one for each processor when not given."
)
VERIFY = click.option(
    "--verify", is_flag=True, help="Read every source and output to see whether it is still the same."
)
TIME_LIMIT = click.option(
    "--time-limit",
    type=click.FloatRange(1, 86400),
    default=LIMIT,
    show_default=True,
    metavar="SECONDS",
    help="What a frame may take before it is given up.",
)
