"""The command line: the group `main` and the table of commands; every exception becomes one line and an exit code.

The module of a command is imported when that command runs. Other packages add commands through the entry-point group
`poise.commands`; `poise FOLDER` runs the one named `app`.
"""

import os
import sys
import warnings
from collections.abc import Mapping
from contextlib import nullcontext
from importlib import import_module
from importlib.metadata import EntryPoint, entry_points
from typing import Any, cast

import click

from poise.errors import PoiseError, UsageError, one_line
from poise.invocation import program_name
from poise.native_output import suppress_native_output

COMMANDS: Mapping[str, str] = {
    "demo": "Balance an invented reel of a harbour town, and compare it with the truth.",
    "measure": "Print readings of shots, measured at full resolution.",
    "auto": "Write a starting point for each shot.",
    "chart": "Set exposure and neutral balance from a chart in a frame.",
    "match": "Match the levels of shots to those of a reference frame.",
    "steady": "Take flicker out of sequences.",
    "copy": "Copy one shot's correction to others.",
    "reset": "Reset corrections to neutral.",
    "apply": "Write the corrected frames to another folder.",
    "check": "Check a delivery for faults.",
    "export": "Export decisions as ASC CDL or Common LUT Format.",
    "report": "Write a contact sheet as one HTML file, with a record of every file's hash.",
    "import": "Import corrections from ASC CDL files.",
    "manual": "Read the manual.",
}
MODULES: Mapping[str, str] = {"import": "importing"}
"""Modules of commands whose names are Python keywords."""
GROUP = "poise.commands"
DONE, FAULTS, USAGE, INTERRUPTED = 0, 1, 2, 130


class Commands(click.Group):
    """The commands of this package, and those that other packages add."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [*COMMANDS, *(name for name in sorted(_added()) if name != "app")]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in COMMANDS:
            return cast(click.Command, import_module(f"{__name__}.{MODULES.get(cmd_name, cmd_name)}").command)
        entry = _added().get(cmd_name)
        return cast(click.Command, entry.load()) if entry else None

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse the options of the program; those of the app may come ahead of FOLDER, as in `poise --light day`."""
        own = {name for option in self.get_params(ctx) for name in option.opts}
        first = next((place for place, arg in enumerate(args) if arg not in own), len(args))
        if first < len(args) and args[first].startswith("-") and args[first] != "--":
            app = self.get_command(ctx, "app")
            if app and args[first].partition("=")[0] in {name for option in app.params for name in option.opts}:
                args = [*args[:first], "app", *args[first:]]
        return super().parse_args(ctx, args)

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the options of the program, those of the app, and the commands."""
        click.Command.format_options(self, ctx, formatter)
        app = self.get_command(ctx, "app")
        if app is not None:
            options = [option for option in app.params if isinstance(option, click.Option)]
            rows = [record for option in options if (record := option.get_help_record(ctx)) is not None]
            with formatter.section("Options of the app, as in poise --light FOLDER"):
                formatter.write_dl(rows)
        self.format_commands(ctx, formatter)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        rows = list(COMMANDS.items())
        for name in self.list_commands(ctx)[len(rows) :]:
            command = self.get_command(ctx, name)
            rows.append((name, command.get_short_help_str(120) if command else ""))
        with formatter.section("Commands"):
            formatter.write_dl(rows)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        first = args[0]
        if self.get_command(ctx, first) is None and os.path.exists(first):
            app = self.get_command(ctx, "app")
            if app is None:
                raise UsageError(
                    f"the terminal app is not part of this version; see {program_name()} show, measure, auto and apply"
                )
            return "app", app, args
        if self.get_command(ctx, first) is None and not first.startswith("-"):
            unknown = f"{one_line(first)}: no such command, file or folder"
            raise UsageError(f"{unknown}; {program_name()} --help lists the commands")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            code = super().invoke(ctx)
            sys.stdout.flush()
        except BrokenPipeError:
            return _stdout_closed()
        return code

    def main(self, args: Any = None, prog_name: str | None = None, *_: Any, **extra: Any) -> Any:
        """Run a command and exit: 0 done, 1 faults, 2 wrong usage or nothing to do, 130 interrupted."""
        given = list(sys.argv[1:] if args is None else args)
        debug = "--debug" in given[:1]
        for stream in (sys.stdout, sys.stderr):
            reconfigure = getattr(stream, "reconfigure", None)
            if reconfigure:
                reconfigure(errors="backslashreplace")
        try:
            with warnings.catch_warnings(), nullcontext() if debug else suppress_native_output():
                if not debug:
                    warnings.simplefilter("ignore")  # warnings of libraries are for programmers
                code = super().main(given, prog_name or program_name(), **{**extra, "standalone_mode": False})
        except (KeyboardInterrupt, click.Abort):
            click.echo("poise: interrupted; finished files are kept", err=True)
            code = INTERRUPTED
        except Exception as fault:
            if debug:
                raise
            code = _report(fault)
        sys.exit(code if isinstance(code, int) else DONE)


def _report(fault: Exception) -> int:
    """Print an exception as one line, and return its exit code."""
    if isinstance(fault, click.exceptions.NoArgsIsHelpError):
        fault.show()
        return USAGE
    if isinstance(fault, click.ClickException):
        context = getattr(fault, "ctx", None)
        hint = f"; see {context.command_path} --help" if context else ""
        message = " ".join(fault.format_message().split())
        click.echo(f"poise: {one_line(message).rstrip('.')}{hint}", err=True)
        return USAGE
    if isinstance(fault, PoiseError):
        click.echo(f"poise: {fault}", err=True)
        return USAGE if isinstance(fault, UsageError) else FAULTS
    click.echo(
        f"poise: {type(fault).__name__}: {one_line(fault)}; for a traceback run {program_name()} --debug ...", err=True
    )
    return FAULTS


def _stdout_closed() -> int:
    """The reader of stdout has gone, which is not a fault; the rest of the output is dropped."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return DONE


def _added() -> dict[str, EntryPoint]:
    return {entry.name: entry for entry in entry_points(group=GROUP)}


@click.command(
    cls=Commands,
    options_metavar="",
    subcommand_metavar="[OPTIONS] FOLDER | COMMAND [ARGS]...",
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(package_name="poise", message="%(package)s %(version)s")
@click.option("--debug", is_flag=True, help="Show tracebacks.")
def main(debug: bool) -> None:
    """Balance frames shot by shot, steered by measured scopes.

    poise FOLDER opens the terminal app on the pictures in a folder. Its bottom line shows the keys to nudge, to accept
    a shot and to get help; Q quits. Decisions are saved in a JSON file beside each picture; the pictures themselves are
    never changed. poise apply writes the balanced frames to another folder. poise demo makes a reel to try it on.

    Data goes to stdout, messages to stderr. Exit codes: 0 done; 1 some shots failed, each reported on a line of its
    own; 2 wrong usage or nothing to do; 130 interrupted.

    Example: poise auto day && poise day && poise apply day --out balanced
    """


__all__ = ["COMMANDS", "main"]
