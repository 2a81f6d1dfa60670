"""`poise manual`: prints the manual, one topic at a time."""

import sys

import click

from poise.commands.shared.output import say
from poise.errors import UsageError
from poise.manual import TOPICS, page, search


@click.command("manual")
@click.argument("topic", required=False, metavar="[TOPIC]")
def command(topic: str | None) -> None:
    """Read the manual.

    Without TOPIC, lists the topics. If TOPIC is not one of them, prints every line that contains it, with its topic.
    On a terminal a page opens in the pager that PAGER names; in a pipe it is plain text.

    Example: poise manual sidecar
    """
    if topic is None:
        for name, covers in TOPICS.items():
            click.echo(f"{name:<10} {covers}")
        say("read one with: poise manual TOPIC")
        return
    try:
        text = page(topic)
    except UsageError:
        found = search(topic)
        if not found:
            raise
        text = "".join(f"{hit.topic}:{hit.number}: {hit.line.strip()}\n" for hit in found)
    if sys.stdout.isatty():
        click.echo_via_pager(text)
    else:
        click.echo(text, nl=False)
