"""Arguments that commands share."""

from pathlib import Path

import click

PATHS = click.argument("paths", metavar="PATH...", nargs=-1, required=True, type=click.Path(path_type=Path))
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of a table.")
