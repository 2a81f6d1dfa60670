"""Arguments that commands share."""

from pathlib import Path

import click

PATHS = click.argument("paths", metavar="PATH...", nargs=-1, required=True, type=click.Path(path_type=Path))
SIDECARS = click.option(
    "--sidecars",
    metavar="DIR",
    type=click.Path(file_okay=False, path_type=Path),
    help="Keep sidecars in DIR instead of beside the pictures.",
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of a table.")
